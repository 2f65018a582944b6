/** The machines of this shop: those that come with the tool, and those that were made here, in a folder beside the log. */
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { numberedError } from '../errors/errors';
import { listProfiles, parseProfile } from './load';
import { plainName } from './plain-name';
import type { MachineProfile } from './profile';

/** The shop's own first; one of the shop's own stands in place of one of the same model that comes with the tool. */
export function machinesOnShelf(log: string): readonly MachineProfile[] {
  const own = ownProfiles(log);
  return [...own, ...listProfiles().filter(({ model }) => own.every((o) => o.model !== model))];
}

/** Whether a machine of this shop's own has this name. */
export function isOnShelf(log: string, model: string): boolean {
  return existsSync(placeOf(log, model));
}

/** Puts a machine on the shelf and gives its file. Throws 307 when one has its name, and 404 when the shelf cannot be written. */
export function putOnShelf(log: string, profile: MachineProfile): string {
  const { model } = profile;
  if (isOnShelf(log, model)) throw numberedError('machine name taken', `'${model}'`);
  const file = placeOf(log, model);
  try {
    mkdirSync(shelfOf(log), { recursive: true });
    writeFileSync(file, `${JSON.stringify(profile, undefined, 2)}\n`);
  } catch (cause) {
    throw numberedError('file not writable', 'a machine in the folder `machines` beside the log', cause);
  }
  return file;
}

function shelfOf(log: string): string {
  return join(dirname(log), 'machines');
}

function placeOf(log: string, model: string): string {
  return join(shelfOf(log), `${plainName(model)}.json`);
}

/** A file that is no profile any more is left out: the list of machines does not fail for one of them. */
function ownProfiles(log: string): MachineProfile[] {
  const folder = shelfOf(log);
  if (!existsSync(folder)) return [];
  return readdirSync(folder)
    .filter((file) => file.endsWith('.json'))
    .sort()
    .flatMap((file) => {
      try {
        return [parseProfile(readFileSync(join(folder, file), 'utf8'), file)];
      } catch {
        return [];
      }
    });
}
