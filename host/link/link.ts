import type { Message, RequestName, ReplyTo, Body } from '../../protocol/wire/messages';
import { numberedError } from '../errors/errors';
import type { NumberedError } from '../errors/errors';
import { createCaptureNumbers } from './capture-numbers';
import { createDamageReport } from './damage-report';
import { createExchange } from './exchange';
import type { Exchange, Request } from './exchange';
import { fixtureError, isFromFixture } from './fixture-error';
import { identify, otherMajor, tableWarning } from './handshake';
import type { Identity, PortOptions } from './handshake';
import { asNumbered, createIntake } from './intake';
import type { Intake, Keep } from './intake';
import { createNoticeBoard } from './notices';
import type { Listeners, NoticeBoard } from './notices';
import { closeStream } from './ports';
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

interface Session {
  readonly exchange: Exchange;
  identity: Identity;
  readonly intake: Intake;
  uptimeMs: number;
  /** False until the handshake is through. */
  ready: boolean;
}

/** After damage on the line the fixture is asked this soon whether a capture was hurt. */
const HURRIED_POLL_MS = 200;

/**
 * Opens the port, makes sure that a fixture of this protocol is on it, and fetches what it has captured so far. Rejects
 * with what `open` rejects with, E203 (not a fixture), E204 (other major version; `rebootToUpdate` still works), E205
 * (silence) or E206 (pulled at once).
 */
export async function openLink(options: LinkOptions): Promise<Link> {
  const timers = options.timers ?? systemTimers;
  const timing = { ...usualTiming, ...options.timing };
  const notices = createNoticeBoard(options.listeners);
  const numbers = createCaptureNumbers();
  let session: Session | undefined;
  let exchangeInUse: Exchange | undefined;
  let known: Identity | undefined;
  let closing = false;
  let reconnecting: Promise<void> = Promise.resolve();
  let cancelPause = () => {};

  const damage = createDamageReport(timers, timing.garbageReportMs, (bytes) =>
    notices.tell('garbage', {
      bytes,
      error: numberedError('garbage on the line', `${bytes} bytes on ${options.name}`),
    }),
  );

  // ---- getting hold of the fixture -----------------------------------------------------------------------------

  const attach = async (): Promise<Session> => {
    const stream = await options.open();
    if (closing) {
      await closeStream(stream);
      throw pulled('closed by this tool');
    }
    const exchange: Exchange = createExchange({
      stream,
      name: options.name,
      timers,
      timing,
      onNotice: (message) => hear(message),
      onGarbage: (bytes) => {
        damage.add(bytes);
        hurryPoll();
      },
      onLost: (cause) => {
        if (session?.exchange === exchange && session.ready) drop(session, cause);
      },
    });
    exchangeInUse = exchange;
    try {
      const identity = await identify(exchange, options.name);
      refuseOther(identity);
      session = createSession(exchange, identity);
      await session.intake.fetch();
      if (!exchange.isOpen()) throw pulled('during the handshake');
      session.ready = true;
      known = identity;
      schedulePoll(timing.pollMs);
      return session;
    } catch (error) {
      session = undefined;
      await exchange.close();
      throw error;
    }
  };

  const refuseOther = (identity: Identity) => {
    const refusal = otherMajor(identity);
    if (refusal !== undefined) throw refusal;
    if (known !== undefined && identity.fixtureId !== known.fixtureId) {
      throw numberedError(
        'another fixture',
        `${identity.fixtureId} instead of ${known.fixtureId} on ${options.name}`,
      );
    }
  };

  const createSession = (exchange: Exchange, identity: Identity): Session => {
    const intake = createIntake({
      request: exchange.request,
      identity: () => made.identity,
      keep: options.keep,
      numbers,
      notices,
      timers,
      quietMs: timing.replyMs,
    });
    const made: Session = { exchange, identity, intake, uptimeMs: 0, ready: false };
    return made;
  };

  // ---- losing it and getting it back ---------------------------------------------------------------------------

  const pulled = (why: string, cause?: unknown) =>
    numberedError('cable pulled', `${options.name}: ${why}`, cause);

  const drop = (lost: Session, cause: unknown) => {
    if (session !== lost || closing) return;
    session = undefined;
    cancelPoll();
    reconnecting = lost.exchange.close().then(reconnect);
    notices.tell('lost', pulled(cause instanceof Error ? cause.message : 'the line went dead', cause));
  };

  const reconnect = async () => {
    const told = new Set<number>();
    for (let pauseMs = timing.backoffMsMin; !closing; pauseMs = Math.min(2 * pauseMs, timing.backoffMsMax)) {
      await pause(pauseMs);
      if (closing) return;
      const before = known;
      try {
        const { identity } = await attach();
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

  const pause = (delayMs: number) =>
    new Promise<void>((resolve) => {
      const cancel = timers.after(delayMs, resolve);
      cancelPause = () => {
        cancel();
        resolve();
      };
    });

  const restartBetween = (before: Identity | undefined, now: Identity) => {
    if (before === undefined || before.bootCount === now.bootCount) return undefined;
    return numberedError('fixture restarted', `start ${now.bootCount} after start ${before.bootCount}`);
  };

  // ---- what the fixture says unasked ---------------------------------------------------------------------------

  const hear = (message: Message) => {
    // Before the handshake is through nobody knows whose captures these are; the resend brings them again.
    if (session === undefined) return;
    if (message.name === 'captured') {
      session.intake.take(message.body);
      if (message.body.bootCount > session.identity.bootCount) checkRestart(session);
    } else if (message.name === 'live') {
      noteUptime(session, message.body.uptimeMs);
      notices.tell('live', message.body);
    } else if (message.name === 'happened') {
      notices.tell('happened', message.body);
    } else if (message.name === 'error') {
      notices.tell('error', fixtureError(message.body));
    }
  };

  const noteUptime = (heard: Session, uptimeMs: number) => {
    if (uptimeMs < heard.uptimeMs) checkRestart(heard);
    heard.uptimeMs = uptimeMs;
  };

  /** A fixture can restart without the port noticing, when a converter sits in between. */
  const checkRestart = (suspect: Session) => {
    const check = async () => {
      const before = suspect.identity;
      const identity = await suspect.exchange.request('identify', {});
      refuseOther(identity);
      const restarted = restartBetween(before, identity);
      if (restarted === undefined || suspect.identity !== before) return;
      suspect.identity = identity;
      known = identity;
      await suspect.intake.fetch();
      notices.tell('back', { identity, restarted });
    };
    check().catch((error: unknown) => drop(suspect, error));
  };

  // ---- the sign of life ----------------------------------------------------------------------------------------

  let cancelPoll = () => {};
  let polling = false;
  let hurried = false;

  const schedulePoll = (delayMs: number) => {
    cancelPoll();
    cancelPoll = timers.after(delayMs, () => void poll());
  };

  const hurryPoll = () => {
    if (hurried || session?.ready !== true) return;
    hurried = true;
    if (!polling) schedulePoll(HURRIED_POLL_MS);
  };

  /**
   * Asks how the fixture is: a sign of life, and the way to learn of a capture whose notice was lost while other notices
   * kept coming.
   */
  const poll = async () => {
    const asked = session;
    if (asked === undefined) return;
    polling = true;
    hurried = false;
    try {
      const status = await asked.exchange.request('report-status', {});
      noteUptime(asked, status.uptimeMs);
      if (status.unacknowledged > asked.intake.owed()) await asked.intake.fetch();
      else if (status.unacknowledged === 0) tellMissing();
    } catch (error) {
      // Anything else means that the line is lost, and whoever finds that out sees to it.
      if (isFromFixture(error)) notices.tell('error', error);
    }
    polling = false;
    if (session === asked) schedulePoll(hurried ? HURRIED_POLL_MS : timing.pollMs);
  };

  const tellMissing = () => {
    const captures = numbers.takeMissing();
    if (captures.length > 0) notices.tell('missing', { captures });
  };

  // ---- what the rest of the host sees --------------------------------------------------------------------------

  const request = async <N extends RequestName>(name: N, body: Body<N>): Promise<Body<ReplyTo<N>>> => {
    if (session === undefined) throw pulled(`${name} was not sent`);
    const reply = await session.exchange.request(name, body);
    if (name === 'arm') numbers.expectThrough((reply as Body<'armed'>).nextCapture - 1);
    return reply;
  };

  const close = async () => {
    closing = true;
    cancelPoll();
    cancelPause();
    damage.stop();
    session = undefined;
    await exchangeInUse?.close();
    await reconnecting;
  };

  let identity = (await attach()).identity;
  notices.on('back', (back) => (identity = back.identity));
  return {
    request,
    on: notices.on,
    identity: () => identity,
    warning: () => tableWarning(identity),
    connected: () => session?.ready === true,
    close,
  };
}
