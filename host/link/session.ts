import type { Duplex } from 'node:stream';
import type { Body, Message, ReplyTo, RequestName } from '../../protocol/wire/messages';
import { numberedError } from '../errors/errors';
import type { NumberedError } from '../errors/errors';
import type { CaptureNumbers } from './capture-numbers';
import { createExchange } from './exchange';
import type { Request } from './exchange';
import { fixtureError, isFromFixture } from './fixture-error';
import { identify } from './handshake';
import type { Identity } from './handshake';
import { createHeartbeat } from './heartbeat';
import { createIntake } from './intake';
import type { Keep } from './intake';
import type { NoticeBoard } from './notices';
import type { Timers, Timing } from './timers';

/** One connection to a fixture, from the handshake until the line is lost. */
export interface Session {
  readonly request: Request;
  identity(): Identity;
  close(): Promise<void>;
}

export interface SessionOptions {
  readonly stream: Duplex;
  /** Name of the port, for errors. */
  readonly name: string;
  readonly timers: Timers;
  readonly timing: Timing;
  readonly keep: Keep;
  readonly numbers: CaptureNumbers;
  readonly notices: NoticeBoard;
  /** Throws when this fixture is not to be talked to. */
  readonly accept: (identity: Identity) => void;
  readonly onGarbage: (bytes: number) => void;
  /** Called once when the line is lost after the handshake. */
  readonly onLost: (cause: unknown) => void;
}

/** After damage on the line the fixture is asked this soon whether a capture was hurt. */
const HURRIED_POLL_MS = 200;
/** The error with which a fixture begins again after its program failed. */
const CRASHED = 112;

/**
 * Shakes hands over an open stream and fetches what the fixture has captured. Rejects as `identify` does, with what
 * `accept` throws, or with E206; the stream is closed then.
 */
export async function beginSession(options: SessionOptions): Promise<Session> {
  const { name, timers, timing, numbers, notices } = options;
  let identity: Identity | undefined;
  let ready = false;
  const beforeHandshake: Message[] = [];
  let lastUptimeMs = 0;

  const exchange = createExchange({
    stream: options.stream,
    name,
    timers,
    timing,
    onNotice: (message) => hear(message),
    onGarbage: (bytes) => {
      options.onGarbage(bytes);
      heartbeat.hurry();
    },
    onLost: (cause) => lose(cause),
  });
  const intake = createIntake({
    request: exchange.request,
    keep: options.keep,
    numbers,
    notices,
    timers,
    quietMs: timing.replyMs,
  });
  const heartbeat = createHeartbeat({
    timers,
    everyMs: timing.pollMs,
    hurriedMs: HURRIED_POLL_MS,
    beat: () => poll(),
  });

  const begin = async () => {
    const found = await identify(exchange, name);
    options.accept(found);
    identity = found;
    await intake.fetch();
    if (!exchange.isOpen()) throw numberedError('cable pulled', name);
    ready = true;
    heartbeat.start();
    beforeHandshake.forEach(hear);
    return found;
  };

  const lose = (cause: unknown) => {
    heartbeat.stop();
    if (!ready) return;
    ready = false;
    options.onLost(cause);
  };

  const close = async () => {
    ready = false;
    heartbeat.stop();
    await exchange.close();
  };

  // ---- what the fixture says unasked ---------------------------------------------------------------------------

  const hear = (message: Message) => {
    // Before the handshake is through nobody knows whose captures these are; the resend brings them again. A fault that the
    // fixture began with is told once, and waits.
    if (identity === undefined) {
      if (message.name === 'error') beforeHandshake.push(message);
      return;
    }
    if (message.name === 'captured') {
      intake.take(message.body, identity);
      if (message.body.bootCount > identity.bootCount) checkRestart();
    } else if (message.name === 'live') {
      noteUptime(message.body.uptimeMs);
      notices.tell('live', message.body);
    } else if (message.name === 'happened') {
      notices.tell('happened', message.body);
    } else if (message.name === 'error') {
      notices.tell('error', fixtureError(message.body));
      if (message.body.code === CRASHED) checkRestart();
    }
  };

  const noteUptime = (uptimeMs: number) => {
    if (uptimeMs < lastUptimeMs) checkRestart();
    lastUptimeMs = uptimeMs;
  };

  /** A fixture can restart without the port noticing, when a converter sits in between. */
  const checkRestart = () => {
    const before = identity;
    const check = async () => {
      const now = await exchange.request('identify', {});
      options.accept(now);
      const restarted = restartBetween(before, now);
      if (restarted === undefined || identity !== before) return;
      identity = now;
      await intake.fetch();
      notices.tell('back', { identity: now, restarted });
    };
    check().catch(lose);
  };

  // ---- the sign of life ----------------------------------------------------------------------------------------

  /**
   * Asks how the fixture is: a sign of life, and the way to learn of a capture whose notice was lost while other notices
   * kept coming.
   */
  const poll = async () => {
    try {
      const status = await exchange.request('report-status', {});
      noteUptime(status.uptimeMs);
      if (status.unacknowledged > intake.owed()) await intake.fetch();
      else if (status.unacknowledged === 0) tellMissing();
    } catch (error) {
      // Anything else means that the line is lost, and the exchange has told so already.
      if (isFromFixture(error)) notices.tell('error', error);
    }
  };

  const tellMissing = () => {
    const captures = numbers.takeMissing();
    if (captures.length > 0) notices.tell('missing', { captures });
  };

  const request = async <N extends RequestName>(what: N, body: Body<N>): Promise<Body<ReplyTo<N>>> => {
    const reply = await exchange.request(what, body);
    if (what === 'arm') numbers.expectThrough((reply as Body<'armed'>).nextCapture - 1);
    return reply;
  };

  try {
    const first = await begin();
    return { request, identity: () => identity ?? first, close };
  } catch (error) {
    await close();
    throw error;
  }
}

/** E210 when the fixture has started anew in between, else undefined. */
export function restartBetween(before: Identity | undefined, now: Identity): NumberedError | undefined {
  if (before === undefined || before.bootCount === now.bootCount) return undefined;
  return numberedError('fixture restarted', `start ${now.bootCount} after start ${before.bootCount}`);
}
