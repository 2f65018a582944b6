import { numberedError } from '../errors/errors';

/** A job number from the command line. Errors: 403. */
export function jobNumber(text: string): number {
  const value = Number(text);
  if (!Number.isInteger(value) || value < 1)
    throw numberedError('command not understood', `${text} is not a job number`);
  return value;
}
