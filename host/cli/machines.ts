import { existsSync } from 'node:fs';
import type { MachineProfile } from '../machines/profile';
import { machineFromTape, parseTape, tapeJsonSchema, type TapeDimensions } from '../machines/from-tape';
import { listProfiles, loadProfile, profileJsonSchema } from '../machines/load';
import { plainName } from '../machines/plain-name';
import { numberedError } from '../errors/errors';
import { columns } from '../terminal/stage-text';
import { headingText } from '../views/words';
import { print, printJson, readIn, writeOut } from './output';

export interface MachinesOptions {
  readonly schema?: boolean;
  readonly json?: boolean;
}

export function machines(name: string | undefined, options: MachinesOptions): Promise<number> {
  if (options.schema === true) printJson(profileJsonSchema());
  else if (name !== undefined) printJson(loadProfile(name));
  else if (options.json === true) printJson(listProfiles());
  else {
    const rows = listProfiles().map((profile) => [
      profile.model,
      `${profile.spindles.length}`,
      profile.family,
      `${profile.cutHeightMm} mm`,
      profile.invented ? 'invented' : '',
    ]);
    print(...columns([['model', 'spindles', 'family', 'cut height', ''], ...rows]));
  }
  return Promise.resolve(0);
}

/** The dimensions as words of the command line; left out where a file has them. */
export interface NewMachineOptions extends Partial<Omit<TapeDimensions, 'uncertaintyMm' | 'rotation'>> {
  readonly from?: string;
  readonly to?: string;
  readonly counterClockwise?: boolean;
  readonly uncertaintyMm?: number;
  readonly schema?: boolean;
  readonly json?: boolean;
}

/** A profile from five things taken with a tape, as words or from a file. Errors: 263, 301, 303, 306, 403 to 405. */
export function newMachine(model: string | undefined, options: NewMachineOptions): Promise<number> {
  const { from, to, schema, json, counterClockwise, ...words } = options;
  if (schema === true) {
    printJson(tapeJsonSchema());
    return Promise.resolve(0);
  }
  if (from === undefined && model === undefined)
    throw numberedError('command not understood', 'a name for the model is wanted, or --from with a file');
  const profile = machineFromTape(
    from === undefined
      ? ({
          ...words,
          model,
          rotation: counterClockwise === true ? 'counter-clockwise' : 'clockwise',
        } as TapeDimensions)
      : { ...parseTape(readIn(from), from), ...words, ...(model === undefined ? {} : { model }) },
    from ?? 'command line',
  );
  const file = to ?? `${plainName(profile.model)}.json`;
  // A profile that somebody has corrected by hand is not written over.
  if (existsSync(file)) throw numberedError('file exists', `${file}; --to names another`);
  writeOut(file, Buffer.from(`${JSON.stringify(profile, undefined, 2)}\n`));
  if (json === true) printJson({ file, profile });
  else print(...newMachineText(profile, file));
  return Promise.resolve(0);
}

function newMachineText(profile: MachineProfile, file: string): string[] {
  const { spindles, wheels, hangers, uncertaintyMm } = profile;
  return [
    `${profile.model}: ${profile.family}, ${profile.groundPlane}; x forward and y to the left from the middle between the drive wheels, mm`,
    ...columns([
      ['', 'x', 'y', 'known to'],
      ...spindles.map((s) => [`spindle ${s.name}`, mm(s.xMm), mm(s.yMm), sd(uncertaintyMm?.spindleMm)]),
      ...wheels.map((w) => [`wheel ${w.name}`, mm(w.xMm), mm(w.yMm), sd(uncertaintyMm?.wheelMm)]),
      ...hangers.map((h) => [
        `support ${h.name}`,
        mm(h.xMm),
        mm(h.yMm),
        `${sd(uncertaintyMm?.hangerMm)}, guessed`,
      ]),
    ]).map((line) => `  ${line}`),
    ...profile.measures.flatMap((m) =>
      m.what === 'tips'
        ? [`${m.name}: ${m.lowerMm} to ${m.upperMm} mm (${m.source}): ${termsText(m.terms)}`]
        : [],
    ),
    'What one turn of an adjuster does is not known: the job asks for a trial turn of each.',
    `Written to ${file}. Look it through and correct what you know better, then: swathplane job --machine ${file}`,
  ];
}

function termsText(terms: readonly { spindle: string; headingDeg: number; weight: number }[]): string {
  return terms
    .map(({ spindle, headingDeg, weight }) => {
      const times = Math.abs(weight) === 1 ? '' : `${+Math.abs(weight).toFixed(3)} × `;
      return `${weight > 0 ? '+' : '−'} ${times}${spindle} pointing ${headingText(headingDeg)}`;
    })
    .join(' ');
}

const mm = (value: number) => value.toFixed(0);
const sd = (value = 0) => `± ${value.toFixed(0)}`;
