import type { Duplex } from 'node:stream';
import { NumberedError, numberedError } from '../errors/errors';
import { createBackoff } from './backoff';
import { createCaptureNumbers } from './capture-numbers';
import { createDamageReport } from './damage-report';
import type { Request } from './exchange';
import { otherMajor, tableWarning } from './handshake';
import type { Identity, PortOptions } from './handshake';
import { asNumbered } from './intake';
import type { Keep } from './intake';
import { createNoticeBoard } from './notices';
import type { Listeners, NoticeBoard } from './notices';
import { closeStream, openNumbered } from './ports';
import { beginSession, restartBetween } from './session';
import type { Session } from './session';
import { systemTimers, usualTiming } from './timers';

export interface LinkOptions extends PortOptions {
  readonly keep: Keep;
  /** Listeners from the first moment on: captures that waited in the fixture arrive before `openLink` resolves. */
  readonly listeners?: Listeners;
}

/** A connection to one fixture that survives pulled cables and restarts until it is closed. */
export interface Link {
  /**
   * Asks the fixture one thing; requests go out one at a time in the order asked. Rejects with the fixture's own error
   * (100 to 199), E205 (no answer after all resends: the connection then counts as lost) or E206 (the cable is out now, or
   * was pulled meanwhile).
   */
  readonly request: Request;
  readonly on: NoticeBoard['on'];
  /** Who the fixture is, as of the last handshake. */
  identity(): Identity;
  /** A sentence when fixture and host claim the same version but differ in their message tables. */
  warning(): string | undefined;
  /** False from `lost` to `back`. */
  connected(): boolean;
  /** Ends all tries and closes the port. Requests that are out reject with E206. */
  close(): Promise<void>;
}

/**
 * Opens the port, makes sure that a fixture of this protocol is on it, and fetches what it has captured so far. Rejects
 * with E201, E202 or E215 (the port cannot be opened), E203 (not a fixture), E204 (other major version; `rebootToUpdate` still works), E205
 * (silence) or E206 (pulled at once).
 */
export async function openLink(options: LinkOptions): Promise<Link> {
  const { name, keep, timers = systemTimers } = options;
  const timing = { ...usualTiming, ...options.timing };
  const notices = createNoticeBoard(options.listeners);
  const numbers = createCaptureNumbers();
  const backoff = createBackoff(timers, timing.backoffMsMin, timing.backoffMsMax);
  const damage = createDamageReport(timers, timing.garbageReportMs, (bytes) =>
    notices.tell('garbage', {
      bytes,
      error: numberedError('garbage on the line', `${bytes} bytes on ${name}`),
    }),
  );
  let stream: Duplex | undefined;
  let session: Session | undefined;
  let known: Identity | undefined;
  let closing = false;
  let reconnecting = Promise.resolve();

  const accept = (identity: Identity) => {
    const refusal = otherMajor(identity);
    if (refusal !== undefined) throw refusal;
    if (known === undefined || known.fixtureId === identity.fixtureId) return;
    throw numberedError('another fixture', `${identity.fixtureId} instead of ${known.fixtureId} on ${name}`);
  };

  const attach = async (): Promise<Identity> => {
    stream = await openNumbered(options.open, name);
    if (closing) {
      await closeStream(stream);
      throw numberedError('cable pulled', name);
    }
    session = await beginSession({
      stream,
      name,
      timers,
      timing,
      keep,
      numbers,
      notices,
      accept,
      onGarbage: (bytes) => damage.add(bytes),
      onLost: (cause) => lose(cause),
    });
    known = session.identity();
    return known;
  };

  const lose = (cause: unknown) => {
    const lost = session;
    if (lost === undefined || closing) return;
    known = lost.identity();
    session = undefined;
    reconnecting = lost.close().then(reconnect);
    const why = cause instanceof NumberedError ? `${name}: ${cause.entry.name}` : name;
    notices.tell('lost', numberedError('cable pulled', why, cause));
  };

  const reconnect = async () => {
    const told = new Set<number>();
    backoff.restart();
    while (!closing) {
      await backoff.pause();
      if (closing) return;
      const before = known;
      try {
        const identity = await attach();
        return notices.tell('back', { identity, restarted: restartBetween(before, identity) });
      } catch (error) {
        tellObstacle(asNumbered(error), told);
      }
    }
  };

  /** That the cable is still out was said by `lost`; anything else in the way is told once for each kind. */
  const tellObstacle = (error: NumberedError, told: Set<number>) => {
    if (closing || [201, 205, 206].includes(error.number) || told.has(error.number)) return;
    told.add(error.number);
    notices.tell('error', error);
  };

  const request: Request = async (what, body) => {
    if (session === undefined) throw numberedError('cable pulled', `${name}: ${what} was not sent`);
    return session.request(what, body);
  };

  const close = async () => {
    closing = true;
    backoff.cancel();
    damage.stop();
    const open = session;
    session = undefined;
    if (open !== undefined) await open.close();
    // A handshake that is under way ends when its stream does.
    else if (stream !== undefined) await closeStream(stream);
    await reconnecting;
  };

  const first = await attach();
  const identity = () => session?.identity() ?? known ?? first;
  return {
    request,
    on: notices.on,
    identity,
    warning: () => tableWarning(identity()),
    connected: () => session !== undefined,
    close,
  };
}
