/** Badges and PINs: a person is found by a code that the log does not hold. */
import { mkdtempSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { holderOf, peopleInLog, registration } from '../../../host/conduct/people-in-log';
import { openLedger } from '../../../host/ledger/ledger';

const path = join(mkdtempSync(join(tmpdir(), 'swathplane-')), 'people.swathplane-log');
const ledger = openLedger(path, { writer: 'trial', now: () => new Date('2026-01-01') });
const add = (name: string, code: string) =>
  ledger.appendOfShop(registration(peopleInLog(ledger), { name, role: 'lead', code }));

it('a code names its holder, the newest one of a name counts, and nobody has two alike', () => {
  add('Kim Invented', 'BADGE-0042');
  add('Ola Invented', '7766');
  expect(holderOf(peopleInLog(ledger), '7766').name).toBe('Ola Invented');
  expect(() => add('Ola Invented', 'BADGE-0042')).toThrow(/^E410.*somebody else/);
  expect(() => add('Ola Invented', '123')).toThrow(/^E410/);
  add('Ola Invented', '8899');
  expect(holderOf(peopleInLog(ledger), '8899')).toMatchObject({ name: 'Ola Invented', role: 'lead' });
  expect(() => holderOf(peopleInLog(ledger), '7766')).toThrow(/^E410/);
  ledger.close();
  const bytes = readFileSync(path).toString('latin1');
  for (const code of ['BADGE-0042', '7766', '8899']) expect(bytes).not.toContain(`"${code}"`);
  expect(bytes).not.toContain('BADGE-0042');
});
