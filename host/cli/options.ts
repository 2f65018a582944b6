/** The words that many commands share. */
import { InvalidArgumentError, Option } from 'commander';
import type { TargetPlate } from '../bay/target-plate';

/** Runs a command and keeps its exit code. */
export type Run = (command: () => Promise<number>) => Promise<void>;

export const json = () => new Option('--json', 'print JSON instead of text');
export const log = () =>
  new Option('--log <file>', 'the log of this bay').default('records/bay.swathplane-log');
export const writer = () =>
  new Option('--bay <name>', 'name of this bay, under which it writes its log').default('bay 1');

/** Where copies of all bays' logs are kept; without it and without the variable the bay is by itself. */
export const database = () =>
  new Option(
    '--database <url>',
    'PostgreSQL database with the copies of all bays, as postgresql://user@host/name; rather in SWATHPLANE_DATABASE, where no list of programs shows it',
  );

export const whole = (text: string) => {
  if (!/^\d{1,9}$/.test(text)) throw new InvalidArgumentError('A whole number is wanted.');
  return Number(text);
};

export const checklist = () =>
  new Option('--checklist <file>', "the shop's own list of things to look at (JSON)");

/** What the steps of measuring take in this shop. */
export const seconds = () =>
  new Option(
    '--seconds <clamp,turn,raise,capture>',
    'what a clamping, a turn of the blade, a clamping with the deck raised and a capture take in this shop',
  ).argParser((text: string) => {
    const [clampS, turnS, raiseClampS, captureS] = text.split(',').map(Number);
    const costs = [clampS, turnS, raiseClampS, captureS];
    if (text.split(',').length !== 4 || !costs.every((s) => s !== undefined && s > 0 && s < 1000))
      throw new InvalidArgumentError('Four numbers of seconds are wanted, as in 25,6,45,3.');
    return { clampS, turnS, raiseClampS, captureS };
  });

/** Under the laser spot of every reading. */
export const plate = () =>
  new Option(
    '--plate <thickness,uncertainty>',
    'matt target plates lie under the laser spot: mm, and ± mm (k = 2), as in 6.00,0.05',
  ).argParser(targetPlate);

function targetPlate(text: string): TargetPlate {
  const [thicknessMm, expandedUncertaintyMm] = text.split(',').map(Number);
  if (
    text.split(',').length !== 2 ||
    !(thicknessMm !== undefined && thicknessMm > 0 && thicknessMm <= 30) ||
    !(expandedUncertaintyMm !== undefined && expandedUncertaintyMm > 0 && expandedUncertaintyMm <= 1)
  )
    throw new InvalidArgumentError(
      'A thickness up to 30 mm and its uncertainty up to 1 mm are wanted, as in 6.00,0.05.',
    );
  return { thicknessMm, expandedUncertaintyMm };
}
