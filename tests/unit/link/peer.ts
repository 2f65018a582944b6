/**
 * A test double of a fixture for nasty behaviours: it keeps a journal of captures and answers as the message table says,
 * over a line on which the test may lose, double, hurt or replace frames. It measures nothing.
 */
import { Duplex } from 'node:stream';
import { numberedError } from '../../../host/errors/errors';
import { createFrameReader, encodeFrame, TABLE_HASH } from '../../../protocol/wire/index';
import { MESSAGES } from '../../../protocol/wire/messages';
import type { Body, Message, MessageName } from '../../../protocol/wire/messages';

/** What becomes of one frame on its way: the pieces that arrive. `[frame]` is an honest line. */
export type Line = (frame: readonly number[]) => readonly (readonly number[])[];

export const honestLine: Line = (frame) => [frame];

export interface Peer {
  /** What `openLink` opens. Rejects with E201 while unplugged. */
  readonly open: () => Promise<Duplex>;
  /** For another line than `open` gives: takes what writes to the host, returns what takes the host's bytes. */
  readonly listenOn: (write: (bytes: readonly number[]) => void) => (bytes: readonly number[]) => void;
  identity: Body<'identity'>;
  /** Captures not acknowledged yet, by number. */
  readonly journal: Map<number, Body<'captured'>>;
  /** Every request that arrived, in order. */
  readonly asked: Message[];
  toHost: Line;
  toFixture: Line;
  /** Takes over single requests: what is returned is sent instead of the honest reply; undefined leaves it honest. */
  answer: ((request: Message) => Message[] | undefined) | undefined;
  uptimeMs: number;
  /** Takes a capture and tells the host. Returns its number. */
  capture(job?: number): number;
  notify(message: Message): void;
  /** Puts raw bytes on the line to the host. */
  say(bytes: readonly number[]): void;
  unplug(): void;
  plugIn(): void;
  /** Power cycle without the port noticing. */
  restart(): void;
}

export function createPeer(fixtureId = 'test-1'): Peer {
  let stream: Duplex | undefined;
  let output: (bytes: readonly number[]) => void = () => {};
  let plugged = true;
  let nextCapture = 1;

  const send = (message: Message) => {
    for (const piece of peer.toHost(encodeFrame(message))) peer.say(piece);
  };

  const answer = (request: Message) => {
    peer.asked.push(request);
    const replies = peer.answer?.(request) ?? honestReplies(request);
    for (const reply of replies) send(reply);
  };

  const honestReplies = (request: Message): Message[] => {
    const { name, sequence } = request;
    const unacknowledged = () => peer.journal.size;
    if (name === 'identify') return [{ name: 'identity', sequence, body: peer.identity }];
    if (name === 'report-status') {
      const body = { ...zeroBody('status'), uptimeMs: peer.uptimeMs, unacknowledged: unacknowledged() };
      return [{ name: 'status', sequence, body }];
    }
    if (name === 'resend') {
      const captures = [...peer.journal.values()].map((body): Message => ({
        name: 'captured',
        sequence: 0,
        body,
      }));
      return [{ name: 'resending', sequence, body: { count: captures.length } }, ...captures];
    }
    if (name === 'acknowledge') {
      peer.journal.delete(request.body.capture);
      return [{ name: 'acknowledged', sequence, body: { unacknowledged: unacknowledged() } }];
    }
    if (name === 'arm') return [{ name: 'armed', sequence, body: { nextCapture } }];
    if (name === 'disarm') return [{ name: 'disarmed', sequence, body: {} }];
    if (name === 'reboot-to-update') return [{ name: 'rebooting', sequence, body: {} }];
    return [refusal(request, 100)];
  };

  const listenOn = (write: (bytes: readonly number[]) => void) => {
    const reader = createFrameReader();
    output = write;
    return (bytes: readonly number[]) => {
      for (const piece of peer.toFixture(bytes)) {
        for (const received of reader.push(piece)) if (received.kind === 'message') answer(received.message);
      }
    };
  };

  const createStream = () => {
    const made = new Duplex({
      read: () => {},
      write: (chunk: Buffer, _encoding, done) => {
        receive([...chunk]);
        done();
      },
    });
    const receive = listenOn((bytes) => made.push(Uint8Array.from(bytes)));
    made.once('close', () => {
      if (stream !== made) return;
      stream = undefined;
      output = () => {};
    });
    return made;
  };

  const peer: Peer = {
    open: () => {
      if (!plugged) return Promise.reject(numberedError('no such port', 'peer'));
      stream = createStream();
      return Promise.resolve(stream);
    },
    identity: {
      protocolMajor: 1,
      protocolMinor: 0,
      tableHash: TABLE_HASH,
      numberBits: 64,
      bootCount: 1,
      firmwareVersion: '1.0.0',
      board: 'test',
      fixtureId,
    },
    journal: new Map(),
    asked: [],
    toHost: honestLine,
    toFixture: honestLine,
    answer: undefined,
    uptimeMs: 10_000,
    capture: (job = 7) => {
      const capture = nextCapture;
      nextCapture += 1;
      const body = {
        ...zeroBody('captured'),
        capture,
        job,
        bootCount: peer.identity.bootCount,
        height: 50_000 + capture,
      };
      peer.journal.set(capture, body);
      peer.notify({ name: 'captured', sequence: 0, body });
      return capture;
    },
    notify: send,
    listenOn,
    say: (bytes) => output(bytes),
    unplug: () => {
      plugged = false;
      stream?.destroy();
    },
    plugIn: () => {
      plugged = true;
    },
    restart: () => {
      peer.identity = { ...peer.identity, bootCount: peer.identity.bootCount + 1 };
      peer.uptimeMs = 0;
    },
  };
  return peer;
}

/** The fixture's refusal of a request. */
export function refusal(request: Message, code: number, detail = 0): Message {
  const aboutMessage = MESSAGES.find((m) => m.name === request.name)?.id ?? 0;
  return { name: 'error', sequence: request.sequence, body: { code, aboutMessage, detail } };
}

/** A body with every field zero or empty. */
export function zeroBody<N extends MessageName>(name: N): Body<N> {
  const fields = MESSAGES.find((m) => m.name === name)?.fields ?? [];
  return Object.fromEntries(
    fields.map((f: { name: string; type: string }) => [
      f.name,
      f.type === 'text' ? '' : f.type === 'i32list' ? [] : 0,
    ]),
  ) as Body<N>;
}

/** Where `keep` would write: captures by fixture and number, each once. */
export interface Shelf {
  readonly kept: Map<string, Body<'captured'>>;
  full: boolean;
  readonly keep: (capture: Body<'captured'>, identity: Body<'identity'>) => 'kept' | 'already kept';
}

export function createShelf(): Shelf {
  const shelf: Shelf = {
    kept: new Map(),
    full: false,
    keep: (capture, identity) => {
      const key = `${identity.fixtureId}/${capture.capture}`;
      if (shelf.kept.has(key)) return 'already kept';
      if (shelf.full) throw numberedError('disk full', 'test');
      shelf.kept.set(key, capture);
      return 'kept';
    },
  };
  return shelf;
}
