import type { Duplex } from 'node:stream';
import { createFrameReader, encodeFrame } from '../../protocol/wire/index';
import { MESSAGES } from '../../protocol/wire/messages';
import type { Body, Message, ReplyTo, RequestName } from '../../protocol/wire/messages';
import { numberedError } from '../errors/errors';
import { fixtureError } from './fixture-error';
import { closeStream } from './ports';
import type { Timers, Timing } from './timers';

/** Asks the fixture one thing. Rejects with a NumberedError: the fixture's own, E205 (no answer) or E206 (line lost). */
export type Request = <N extends RequestName>(name: N, body: Body<N>) => Promise<Body<ReplyTo<N>>>;

/**
 * Requests and replies over one open stream, for as long as it stays open. One request is out at a time, in the order
 * asked; it is sent again unchanged until its reply comes or patience ends, and that ends the exchange.
 */
export interface Exchange {
  readonly request: Request;
  /** The first bytes that came, at most 32: what a device says that is no fixture. */
  firstBytes(): readonly number[];
  /** Whole messages that came, of whatever kind. */
  messagesHeard(): number;
  isOpen(): boolean;
  /** Closes the stream; requests that are still out reject with E206. Resolves when the port is free again. */
  close(): Promise<void>;
}

export interface ExchangeOptions {
  readonly stream: Duplex;
  /** Name of the port, for errors. */
  readonly name: string;
  readonly timers: Timers;
  readonly timing: Timing;
  /** Called with every notice and every unasked `error`. */
  readonly onNotice: (message: Message) => void;
  /** Called with the number of bytes that formed no frame. */
  readonly onGarbage: (bytes: number) => void;
  /** Called once when the stream closes or a request stays unanswered, without `close` having been called. */
  readonly onLost: (cause: unknown) => void;
}

interface Asked {
  readonly name: RequestName;
  readonly frame: Uint8Array;
  readonly sequence: number;
  timesSent: number;
  readonly resolve: (body: never) => void;
  readonly reject: (error: Error) => void;
}

const FIRST_BYTES_KEPT = 32;
const DELIMITER = Uint8Array.of(0);
const idOf = new Map(MESSAGES.map((m) => [m.name, m.id]));
const noticeNames = new Set<string>(MESSAGES.filter((m) => m.kind === 'notice').map((m) => m.name));
const replyTo = new Map(MESSAGES.flatMap((m) => ('answeredBy' in m ? [[m.name, m.answeredBy]] : [])));

export function createExchange(options: ExchangeOptions): Exchange {
  const { stream, name: portName, timers, timing } = options;
  const reader = createFrameReader();
  const queue: Asked[] = [];
  const firstBytes: number[] = [];
  let messagesHeard = 0;
  let lastSequence = 0;
  let closed: Promise<void> | undefined;
  let cancelResend = () => {};

  const send = (asked: Asked) => {
    asked.timesSent += 1;
    // What swallowed the frame the first time, noise or half a frame, ends at this 0 and does not swallow it again.
    if (asked.timesSent > 1) stream.write(DELIMITER);
    cancelResend = timers.after(timing.replyMs, () => {
      if (asked.timesSent <= timing.resends) return send(asked);
      giveUp(asked);
    });
    // Last, since a stream within this program may bring the reply before it returns.
    stream.write(asked.frame);
  };

  const finish = (settle: (asked: Asked) => void) => {
    cancelResend();
    const asked = queue.shift();
    if (asked === undefined) return;
    settle(asked);
    const next = queue[0];
    if (next !== undefined) send(next);
  };

  /** A request that stays without an answer ends the exchange: the line is dead, or the fixture is. */
  const giveUp = (asked: Asked) => {
    queue.shift();
    const unanswered = numberedError('no answer', `${asked.name} on ${portName}`);
    lose(unanswered);
    asked.reject(unanswered);
  };

  const hear = (message: Message) => {
    messagesHeard += 1;
    const asked = queue[0];
    if (noticeNames.has(message.name) || (message.name === 'error' && message.sequence === 0))
      return options.onNotice(message);
    // A late reply to a request that was sent twice finds nobody waiting and is dropped.
    if (asked === undefined || message.sequence !== asked.sequence) return;
    if (message.name === asked.name) {
      finish((a) => a.reject(numberedError('not a fixture', `${portName} sends back what it is sent`)));
    } else if (message.name === replyTo.get(asked.name)) {
      finish((a) => a.resolve(message.body as never));
    } else if (message.name === 'error' && [0, idOf.get(asked.name)].includes(message.body.aboutMessage)) {
      finish((a) => a.reject(fixtureError(message.body)));
    }
  };

  const receive = (chunk: Uint8Array) => {
    for (const byte of chunk.subarray(0, FIRST_BYTES_KEPT - firstBytes.length)) firstBytes.push(byte);
    for (const received of reader.push([...chunk])) {
      if (closed !== undefined) return;
      if (received.kind === 'message') hear(received.message);
      else if (received.kind === 'damaged') options.onGarbage(received.bytes);
      // Messages of unknown id are whole frames of a newer minor version: nothing is wrong, and nobody asked for them.
    }
  };

  const shut = () => {
    if (closed !== undefined) return closed;
    stream.off('data', receive);
    closed = closeStream(stream);
    cancelResend();
    for (const asked of queue.splice(0))
      asked.reject(numberedError('cable pulled', `${asked.name} on ${portName}`));
    return closed;
  };

  const lose = (cause: unknown) => {
    if (closed !== undefined) return;
    void shut();
    options.onLost(cause);
  };

  stream.on('data', receive);
  // A pulled cable shows as `close`, on some systems as an error or an end as well: the first of them counts.
  stream.once('close', lose);
  stream.once('end', lose);
  stream.on('error', lose);
  // A frame that an earlier program left half sent ends here and does not swallow our first one.
  stream.write(DELIMITER);

  const request: Request = (name, body) =>
    new Promise((resolve, reject) => {
      if (closed !== undefined) throw numberedError('cable pulled', `${name} on ${portName}`);
      // 1 to 255, then 1 again; 0 marks what nobody asked for.
      const sequence = lastSequence === 255 ? 1 : lastSequence + 1;
      const frame = Uint8Array.from(encodeFrame({ name, sequence, body } as Message));
      lastSequence = sequence;
      queue.push({ name, frame, sequence, timesSent: 0, resolve, reject });
      if (queue.length === 1 && queue[0] !== undefined) send(queue[0]);
    });

  return {
    request,
    firstBytes: () => firstBytes,
    messagesHeard: () => messagesHeard,
    isOpen: () => closed === undefined,
    close: shut,
  };
}
