/** Copies a bay's log in the background while it works. */
import { namedDatabase } from '../copies/named';

/** What a bay gives the copying at its end, so that a job that has just been closed is there too. */
const GRACE_MS = 2000;

/** Begins where a database is named; `say` hears when that does not go on. Nothing is loaded where none is. Errors: 281. */
export async function copying(
  { log, database }: { readonly log: string; readonly database?: string },
  say: (text: string) => void,
): Promise<{ stop(): Promise<void> }> {
  const url = namedDatabase(database);
  if (url === undefined) return { stop: () => Promise.resolve() };
  const { followLog } = await import('../copies/follow');
  const following = followLog(log, url, {
    changed: (state) => {
      if (state.is === 'given up') say(`Copies: ${state.error.message}`);
      else if (state.is === 'waiting')
        say('Copies: the database does not answer; the bay goes on without it.');
    },
  });
  return {
    stop: async () => {
      const state = await following.stop(GRACE_MS);
      if (state.is === 'waiting' || state.is === 'begun')
        say('Copies: not everything is copied yet; `swathplane copies` copies the rest.');
    },
  };
}
