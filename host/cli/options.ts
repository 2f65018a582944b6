/** The words that many commands share. */
import { InvalidArgumentError, Option } from 'commander';

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
