/** The tables printed in the note on the error budget are what the command prints today. */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { budgetsOf, budgetText } from '../../../host/cli/budget';
import { loadProfile } from '../../../host/machines/load';

const note = readFileSync(new URL('../../../hardware-notes/error-budget.md', import.meta.url), 'utf8');
const COMMAND = '$ npm run -s swathplane -- budget';

/** Each fenced block that begins with the command: its machine and the lines after it. */
const blocks = note
  .split('```')
  .filter((block) => block.startsWith(`\n${COMMAND}`))
  .map((block) => block.trim().split('\n'))
  .map(([command = '', ...lines]) => ({
    machine: / --machine (\S+)$/.exec(command)?.[1] ?? 'orrinshaw-106',
    lines,
  }));

test('the note shows two machines, the first in full', () => {
  expect(blocks.map((b) => b.machine)).toEqual(['orrinshaw-106', 'thrushmoor-248']);
});

test.each(blocks)('$machine', ({ machine, lines }) => {
  const profile = loadProfile(machine);
  const printed = budgetText(profile, budgetsOf(profile));
  const from = printed.indexOf(lines[0] ?? '');
  expect(lines).toEqual(printed.slice(machine === 'orrinshaw-106' ? 0 : from));
});
