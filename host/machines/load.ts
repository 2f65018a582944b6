/** Reads machine profiles: from text, by name, or all that come with the tool. Every refusal is numbered and says where. */
import { readFileSync } from 'node:fs';
import { z } from 'zod';
import { numberedError } from '../errors/errors';
import { readJson } from '../errors/json-fault';
import { contradictionsOf } from './contradictions';
import { formFaults } from './form-faults';
import { plainName } from './plain-name';
import { profileSchema } from './profile';
import type { MachineProfile } from './profile';
import cressidine93 from './profiles/cressidine-93.json';
import dunfallow116 from './profiles/dunfallow-116.json';
import hobthrush150 from './profiles/hobthrush-150.json';
import larkpenny51 from './profiles/larkpenny-51.json';
import orrinshaw106 from './profiles/orrinshaw-106.json';
import pimwick76 from './profiles/pimwick-76.json';
import quellbeck133 from './profiles/quellbeck-133.json';
import thrushmoor248 from './profiles/thrushmoor-248.json';
import wexcarrow183 from './profiles/wexcarrow-183.json';

// Imported, not read from a folder, so that the bundled command line carries them.
const OWN_PROFILES: readonly unknown[] = [
  pimwick76,
  larkpenny51,
  orrinshaw106,
  cressidine93,
  quellbeck133,
  dunfallow116,
  hobthrush150,
  wexcarrow183,
  thrushmoor248,
];

/**
 * The profile written in `text`; `source` says in errors where the text comes from.
 * Throws 301 (not JSON, with line and column), 302 (fields missing or of the wrong form, all of them), 303 (statements
 * that cannot all be true, all of them) and 304 (swing blades).
 */
export function parseProfile(text: string, source: string): MachineProfile {
  return checkProfile(readJson(text, source, 'profile unreadable'), source);
}

/**
 * The profile called `nameOrFile`: the model of one that comes with the tool (capitals and the space may be left out:
 * `quellbeck-133`), or a file. Throws 305 and what `parseProfile` throws.
 */
export function loadProfile(nameOrFile: string): MachineProfile {
  const listed = listProfiles().find(({ model }) => plainName(model) === plainName(nameOrFile));
  if (listed !== undefined) return listed;
  let text: string;
  try {
    text = readFileSync(nameOrFile, 'utf8');
  } catch (cause) {
    throw numberedError(
      'no such machine',
      `'${nameOrFile}' is no machine of the list and no readable file`,
      cause,
    );
  }
  return parseProfile(text, nameOrFile);
}

/** All profiles that come with the tool, checked, fewest spindles first. */
export function listProfiles(): readonly MachineProfile[] {
  return OWN_PROFILES.map((data) => checkProfile(data, 'a profile of this tool'));
}

/** The form of a profile as JSON Schema draft-07, for editors. Contradictions (303) are beyond what a schema can say. */
export function profileJsonSchema(): object {
  return z.toJSONSchema(profileSchema, { target: 'draft-7' });
}

/** The profile that `data` is; `source` says in errors where it comes from. Throws 302, 303 and 304. */
export function checkProfile(data: unknown, source: string): MachineProfile {
  if (typeof data === 'object' && data !== null && 'bladeKind' in data && data.bladeKind === 'swing') {
    throw numberedError('blade not measurable', source);
  }
  const checked = profileSchema.safeParse(data);
  if (!checked.success) {
    throw numberedError(
      'profile incomplete',
      `${source}: ${formFaults(checked.error, data, 'a profile').join('; ')}`,
    );
  }
  const contradictions = contradictionsOf(checked.data);
  if (contradictions.length > 0)
    throw numberedError('profile contradictory', `${source}: ${contradictions.join('; ')}`);
  return checked.data;
}
