import { HOST_ERRORS, NumberedError } from '../errors/errors';

/** Prints an error with number, cause and next step, as text or JSON, and gives the exit code for it. */
export function reportAndExitCode(error: unknown, asJson: boolean): number {
  const numbered = error instanceof NumberedError ? error : unexpected(error);
  if (asJson) {
    const { number, entry, about, nextStep } = numbered;
    process.stdout.write(
      `${JSON.stringify({ error: { number, cause: entry.cause, about, nextStep } }, undefined, 2)}\n`,
    );
  } else {
    process.stderr.write(
      `E${numbered.number}: ${numbered.entry.cause}${numbered.about === '' ? '' : `: ${numbered.about}`}\n  Next: ${numbered.nextStep}.\n`,
    );
  }
  return 3;
}

function unexpected(error: unknown): NumberedError {
  const entry = HOST_ERRORS.find((e) => e.name === 'fault in the tool');
  if (entry === undefined) throw error;
  const text = error instanceof Error ? (error.stack ?? error.message) : JSON.stringify(error);
  return new NumberedError(entry, text, { cause: error });
}
