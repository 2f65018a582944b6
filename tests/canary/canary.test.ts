/** Tests that must fail. harness.test.ts runs them and complains when one of them passes. */
import { expect, it } from 'vitest';
import { crc32c } from '../../protocol/wire/index';

it('a wrong value', () => {
  expect(crc32c([0x31, 0x32, 0x33])).toBe(0);
});

it('a rejection that nobody waits for in time', async () => {
  await Promise.reject(new Error('meant to fail'));
});

it('an assertion in a callback that is never called', () => {
  expect.assertions(1);
});
