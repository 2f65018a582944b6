import { expect, test } from 'vitest';
import { sealView, shortForm } from '../../../host/views/seal-view';

// The hash of "abc", FIPS 180-4; 0xba7816bf8f01cfea is 13436514500253700074 (GNU bc).
const ABC = 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad';

test('the check number is the last sixteen decimal digits of the first 64 bits', () => {
  expect(shortForm(ABC)).toBe('6514 5002 5370 0074');
  expect(shortForm('0'.repeat(64))).toBe('0000 0000 0000 0000');
});

test('says what a signature proves and what not, with the key where it is known', () => {
  const head = { writer: 'bay one', sequence: 7, hash: ABC };
  expect(sealView(head)).toMatchObject({ ...head, short: '6514 5002 5370 0074' });
  expect(sealView(head).key).toBeUndefined();
  const sealed = sealView({ ...head, publicKey: '', fingerprint: ABC, signature: 'ff' });
  expect(sealed.key).toEqual({ fingerprint: ABC, short: '6514 5002 5370 0074', signature: 'ff' });
  expect(sealed.proves).toContain('changed');
  expect(sealed.provesNot).toContain('time');
});
