/** Requests in, replies out. A request that comes again is answered again and not done again. */
import { MESSAGES, createFrameReader, encodeFrame } from '../../protocol/wire';
import type {
  Body,
  FixtureErrorName,
  Message,
  MessageDefinition,
  ReplyTo,
  RequestName,
} from '../../protocol/wire';
import type { Answer, Handlers } from './handlers';
import { errorNumber } from './numbers';
import type { Outbox } from './outbox';

export interface Dialogue {
  take(bytes: readonly number[]): void;
}

/** The request answered last. */
interface Exchange {
  readonly request: Message;
  /** Undefined while the reply is still to come. */
  reply: readonly number[] | undefined;
}

/** More than one host has out; whoever sends more without waiting for an answer sends it again. */
const WAITING_MAX = 4;

/** While `started` is false only requests of the frozen core are answered, all others wait. */
export function createDialogue(handlers: Handlers, outbox: Outbox, started: () => boolean): Dialogue {
  const reader = createFrameReader();
  const waiting: Message[] = [];
  let last: Exchange | undefined = undefined;

  function refuse(error: FixtureErrorName, id: number, sequence: number, detail: number): readonly number[] {
    return outbox.send({
      name: 'error',
      sequence,
      body: { code: errorNumber(error), aboutMessage: id, detail },
    });
  }

  function answer(message: Message): void {
    if (last !== undefined && isRepeat(last.request, message)) {
      if (last.reply !== undefined) outbox.sendFrame(last.reply);
      return;
    }
    const definition = definitionOf(message.name);
    if (definition.answeredBy === undefined) {
      refuse('malformed message', definition.id, message.sequence, 0);
      return;
    }
    const exchange: Exchange = { request: message, reply: undefined };
    last = exchange;
    const reply = (body: Body<ReplyTo<RequestName>>): void => {
      exchange.reply = outbox.send({
        name: definition.answeredBy as string,
        sequence: message.sequence,
        body,
      } as unknown as Message);
    };
    // The table ties each request's name to its body and its reply; the compiler cannot follow it through the lookup.
    const handle = handlers[message.name as RequestName] as (
      body: unknown,
      answerLater: (body: Body<ReplyTo<RequestName>>) => void,
    ) => Answer<RequestName>;
    const given = handle(message.body, reply);
    if (given.kind === 'reply') reply(given.body);
    else if (given.kind === 'refused')
      exchange.reply = refuse(given.error, definition.id, message.sequence, given.detail);
  }

  function take(message: Message): void {
    const core = message.name === 'identify' || message.name === 'reboot-to-update';
    if (core || started()) answer(message);
    else if (waiting.length < WAITING_MAX) waiting.push(message);
  }

  return {
    take: (bytes) => {
      while (waiting.length > 0 && started()) answer(waiting.shift() as Message);
      for (const received of reader.push(bytes)) {
        if (received.kind === 'message') take(received.message);
        else if (received.kind === 'unknown') refuse('unknown message', received.id, received.sequence, 0);
        else if (received.why === 'malformed') refuse('malformed message', received.id, received.sequence, 0);
        // Anything else damaged carries no number to answer: the host sends it again.
      }
    },
  };
}

function definitionOf(name: Message['name']): MessageDefinition {
  for (const definition of MESSAGES) if (definition.name === name) return definition;
  throw new Error(name + ': no such message');
}

function isRepeat(before: Message, now: Message): boolean {
  if (before.sequence !== now.sequence || before.name !== now.name) return false;
  const a = encodeFrame(before);
  const b = encodeFrame(now);
  if (a.length !== b.length) return false;
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return true;
}
