import { NumberedError } from '../host/errors/errors';

/** The numbered error that `work` ends in; anything else that it throws goes on. */
export function refusal(work: () => unknown): NumberedError {
  try {
    work();
  } catch (error) {
    if (error instanceof NumberedError) return error;
    throw error;
  }
  throw new Error('no error came');
}
