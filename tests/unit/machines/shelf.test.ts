import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { machineFromTape } from '../../../host/machines/from-tape';
import { machinesOnShelf, putOnShelf } from '../../../host/machines/shelf';
import { TARNBECK_90 } from './tarnbeck';
import { refusal } from '../../refusal';

let folder: string;
beforeAll(() => (folder = mkdtempSync(join(tmpdir(), 'swathplane-shelf-'))));
afterAll(() => rmSync(folder, { recursive: true }));

const machine = (model: string) => machineFromTape({ ...TARNBECK_90, model });

it('holds one machine of a name; another is refused by number, in no words of the file system', () => {
  const log = join(folder, 'bay.swathplane-log');
  for (const model of ['Tarnbeck 90', 'Мостовая 90', '芝刈 90']) putOnShelf(log, machine(model));
  const taken = refusal(() => putOnShelf(log, machine('tarnbeck-90')));
  expect(taken.number).toBe(307);
  expect(taken.message).not.toContain('/');
  expect(machinesOnShelf(log).filter((m) => /90$/.test(m.model))).toHaveLength(3);
});

it('that cannot be written is refused by number, without its path', () => {
  const place = join(folder, 'full');
  const log = join(place, 'bay.swathplane-log');
  writeFileSync(place, 'a file where the folder ought to be');
  const refused = refusal(() => putOnShelf(log, machine('Tarnbeck 90')));
  expect(refused.number).toBe(404);
  expect(refused.message).not.toContain(folder);
});
