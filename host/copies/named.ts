/** Which database holds the copies: asked before anything of it is loaded. */
import { numberedError } from '../errors/errors';

/** Where the connection string may stand instead of on the command line, which other users of a computer can read. */
export const DATABASE_VARIABLE = 'SWATHPLANE_DATABASE';

/** The server named on the command line or in the environment. Errors: 280. */
export function databaseUrl(option: string | undefined): string {
  const url = namedDatabase(option);
  if (url === undefined) throw numberedError('no copies server named');
  return url;
}

/** The same, undefined where none is named: the bay is by itself. */
export function namedDatabase(option: string | undefined): string | undefined {
  const url = option ?? process.env[DATABASE_VARIABLE];
  return url === '' ? undefined : url;
}
