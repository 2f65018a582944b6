import type { Duplex } from 'node:stream';
import { TABLE_HASH } from '../../protocol/wire/index';
import { PROTOCOL_MAJOR, PROTOCOL_MINOR, REBOOT_CONFIRMATION } from '../../protocol/wire/messages';
import type { Body } from '../../protocol/wire/messages';
import { NumberedError, numberedError } from '../errors/errors';
import { createExchange } from './exchange';
import type { Exchange } from './exchange';
import { openNumbered } from './ports';
import { systemTimers, usualTiming } from './timers';
import type { Timers, Timing } from './timers';

export type Identity = Body<'identity'>;

/** A port to talk through, before anything is known about what is on it. */
export interface PortOptions {
  /** Opens the port anew each time it is called. */
  readonly open: () => Promise<Duplex>;
  /** Name of the port, for errors. */
  readonly name: string;
  readonly timing?: Partial<Timing>;
  readonly timers?: Timers;
}

/**
 * Who is on the line, of whatever protocol version. Rejects with E203 when something answers that is no fixture (it
 * echoes, or it says something else) and E205 when all stays silent.
 */
export async function identify(exchange: Exchange, portName: string): Promise<Identity> {
  try {
    return await exchange.request('identify', {});
  } catch (error) {
    const said = exchange.firstBytes();
    const unanswered = error instanceof NumberedError && error.number === 205;
    if (!unanswered || said.length === 0 || exchange.messagesHeard() > 0) throw error;
    throw numberedError('not a fixture', `${portName} says ${quote(said)}`, error);
  }
}

/** E204 naming both versions when the fixture speaks another major version, else undefined. */
export function otherMajor(identity: Identity): NumberedError | undefined {
  if (identity.protocolMajor === PROTOCOL_MAJOR) return undefined;
  const theirs = `fixture ${identity.fixtureId} with firmware ${identity.firmwareVersion} speaks ${identity.protocolMajor}.${identity.protocolMinor}`;
  return numberedError('other protocol', `${theirs}, this tool ${PROTOCOL_MAJOR}.${PROTOCOL_MINOR}`);
}

/** A sentence when fixture and host claim the same version but were built from different message tables. */
export function tableWarning(identity: Identity): string | undefined {
  const sameVersion = identity.protocolMajor === PROTOCOL_MAJOR && identity.protocolMinor === PROTOCOL_MINOR;
  if (!sameVersion || identity.tableHash === TABLE_HASH) return undefined;
  return (
    `fixture ${identity.fixtureId} and this tool both speak ${PROTOCOL_MAJOR}.${PROTOCOL_MINOR}, but their message tables ` +
    'differ: one of them is a development version'
  );
}

/** Opens the port, asks who is there, of whatever protocol version, and closes it again. Rejects as `identify` does. */
export function identifyPort(options: PortOptions): Promise<Identity> {
  return onPort(options, (exchange) => identify(exchange, options.name));
}

/**
 * Asks the fixture on a port, of whatever protocol version, to restart ready for new firmware. Resolves with who it was.
 * Uses the frozen core alone, so that it is the way out of E204.
 */
export function rebootToUpdate(options: PortOptions): Promise<Identity> {
  return onPort(options, async (exchange) => {
    const identity = await identify(exchange, options.name);
    await exchange.request('reboot-to-update', { confirmation: REBOOT_CONFIRMATION });
    return identity;
  });
}

async function onPort<T>(options: PortOptions, talk: (exchange: Exchange) => Promise<T>): Promise<T> {
  const exchange = createExchange({
    stream: await openNumbered(options.open, options.name),
    name: options.name,
    timers: options.timers ?? systemTimers,
    timing: { ...usualTiming, ...options.timing },
    onNotice: () => {},
    onGarbage: () => {},
    onLost: () => {},
  });
  try {
    return await talk(exchange);
  } finally {
    await exchange.close();
  }
}

function quote(bytes: readonly number[]): string {
  const isText = bytes.every((b) => (b >= 32 && b < 127) || b === 9 || b === 10 || b === 13);
  if (isText) return JSON.stringify(String.fromCharCode(...bytes));
  return bytes.map((b) => b.toString(16).padStart(2, '0')).join(' ');
}
