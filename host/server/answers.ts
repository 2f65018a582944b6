/** How a refusal is told to a screen: the numbered error, with the status of HTTP that fits it. */
import type { ContentfulStatusCode } from 'hono/utils/http-status';
import { NumberedError, numberedError } from '../errors/errors';

export interface Refusal {
  readonly error: {
    readonly number: number;
    readonly cause: string;
    readonly about: string;
    readonly nextStep: string;
  };
}

const STATUS: Readonly<Record<number, ContentfulStatusCode>> = {
  501: 401,
  502: 403,
  503: 421,
  504: 403,
  505: 413,
  506: 429,
  507: 404,
  509: 400,
  510: 409,
  511: 409,
  513: 503,
  256: 404,
  305: 404,
};

export function refusalOf(error: unknown): Refusal {
  const { number, entry, about, nextStep } = numbered(error);
  return { error: { number, cause: entry.cause, about, nextStep } };
}

/** RFC 9110, section 15. What the job refuses is 422: understood, and not to be done. */
export function statusOf(error: unknown): ContentfulStatusCode {
  if (!(error instanceof NumberedError)) return 500;
  return STATUS[error.number] ?? 422;
}

/** What the tool itself did wrong is told without its inside: that goes to the terminal. */
function numbered(error: unknown): NumberedError {
  if (error instanceof NumberedError) return error;
  console.error(error);
  return numberedError('fault in the tool');
}
