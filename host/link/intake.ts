import type { Body } from '../../protocol/wire/messages';
import { NumberedError, numberedError } from '../errors/errors';
import type { CaptureNumbers } from './capture-numbers';
import type { Request } from './exchange';
import { isFromFixture } from './fixture-error';
import type { Identity } from './handshake';
import type { NoticeBoard } from './notices';
import type { Timers } from './timers';

export type Kept = 'kept' | 'already kept';

/**
 * Puts a capture where no power cut can take it, under the fixture's id and the capture's number. It is durable when this
 * returns; a copy of one that is there changes nothing and returns 'already kept'. Throws when it cannot.
 */
export type Keep = (capture: Body<'captured'>, identity: Identity) => Kept;

/** Takes captures in: first to the disk, then the word to the fixture that it may forget. */
export interface Intake {
  /** A `captured` notice. A capture that cannot be kept is reported and stays with the fixture. */
  take(capture: Body<'captured'>, identity: Identity): void;
  /** Asks for every capture that the fixture still holds, and resolves when they have come or the line has gone quiet. */
  fetch(): Promise<void>;
  /** Captures that are kept but whose acknowledgement is not answered yet. */
  owed(): number;
}

export interface IntakeOptions {
  readonly request: Request;
  readonly keep: Keep;
  readonly numbers: CaptureNumbers;
  readonly notices: NoticeBoard;
  readonly timers: Timers;
  /** A resend that brings nothing for so long is over. */
  readonly quietMs: number;
}

export function createIntake(options: IntakeOptions): Intake {
  const { request, notices, timers } = options;
  const owed = new Set<number>();
  let arrived = 0;
  let arrival = () => {};

  const acknowledge = async (capture: number) => {
    owed.add(capture);
    try {
      await request('acknowledge', { capture });
    } catch (error) {
      // Without an answer the line is lost and the fixture may hold the capture still: it comes again with the next resend and is known then.
      if (isFromFixture(error)) notices.tell('error', error);
    } finally {
      owed.delete(capture);
    }
  };

  const take = (capture: Body<'captured'>, identity: Identity) => {
    arrived += 1;
    arrival();
    let kept: Kept;
    try {
      kept = options.keep(capture, identity);
    } catch (error) {
      return notices.tell('error', asNumbered(error));
    }
    options.numbers.see(capture.capture);
    if (!owed.has(capture.capture)) void acknowledge(capture.capture);
    notices.tell('captured', { capture, kept });
  };

  const fetch = async () => {
    arrived = 0;
    try {
      const { count } = await request('resend', {});
      await untilArrived(count);
    } catch (error) {
      // A fixture with a fault in its journal is still worth talking to.
      if (!isFromFixture(error)) throw error;
      notices.tell('error', error);
    }
  };

  const untilArrived = (count: number) =>
    new Promise<void>((resolve) => {
      let cancel = () => {};
      arrival = () => {
        cancel();
        if (arrived < count) {
          cancel = timers.after(options.quietMs, done);
        } else {
          done();
        }
      };
      const done = () => {
        arrival = () => {};
        resolve();
      };
      arrival();
    });

  return { take, fetch, owed: () => owed.size };
}

/** Any error as a numbered one: what has no number is a fault in the tool. */
export function asNumbered(error: unknown): NumberedError {
  if (error instanceof NumberedError) return error;
  return numberedError('fault in the tool', error instanceof Error ? error.message : String(error), error);
}
