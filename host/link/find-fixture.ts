import type { Duplex } from 'node:stream';
import type { NumberedError } from '../errors/errors';
import { numberedError } from '../errors/errors';
import { identifyPort } from './handshake';
import type { Identity } from './handshake';
import { asNumbered } from './intake';
import { listPorts, openSerialPort } from './ports';
import type { ListedPort } from './ports';
import type { Timers, Timing } from './timers';

export interface FoundFixture {
  readonly path: string;
  readonly identity: Identity;
}

/** What was found on one listed port: a fixture, of whatever protocol version, or why there is none. */
export type PortFinding = ListedPort & ({ readonly identity: Identity } | { readonly error: NumberedError });

export interface SearchOptions {
  readonly list?: () => Promise<readonly ListedPort[]>;
  readonly open?: (path: string) => Promise<Duplex>;
  readonly timing?: Partial<Timing>;
  readonly timers?: Timers;
}

/** A fixture answers within milliseconds: other devices need not be waited for as long as one that is known to be there. */
const SHORT: Partial<Timing> = { replyMs: 250, resends: 1 };

/** Asks on every listed port at once who is there. */
export async function surveyPorts(options: SearchOptions = {}): Promise<PortFinding[]> {
  const { list = listPorts, open = openSerialPort, timers } = options;
  const survey = async (port: ListedPort): Promise<PortFinding> => {
    try {
      const identity = await identifyPort({
        open: () => open(port.path),
        name: port.path,
        timing: { ...SHORT, ...options.timing },
        ...(timers === undefined ? {} : { timers }),
      });
      return { ...port, identity };
    } catch (error) {
      return { ...port, error: asNumbered(error) };
    }
  };
  return Promise.all((await list()).map(survey));
}

/**
 * The one fixture that is plugged in. Rejects with E207 when there is none, saying what is on the ports, and with E208
 * naming all when there are several.
 */
export async function findFixture(options: SearchOptions = {}): Promise<FoundFixture> {
  const findings = await surveyPorts(options);
  const found = findings.flatMap((f) => ('identity' in f ? [{ path: f.path, identity: f.identity }] : []));
  const [only] = found;
  if (only === undefined) throw numberedError('no fixture found', findings.map(whyNot).join('; '));
  if (found.length > 1) {
    throw numberedError(
      'several fixtures',
      found.map((f) => `${f.identity.fixtureId} on ${f.path}`).join(', '),
    );
  }
  return only;
}

function whyNot(finding: PortFinding): string {
  return 'error' in finding ? `${finding.path}: ${finding.error.entry.name}` : finding.path;
}
