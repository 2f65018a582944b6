/** Who works here, as a log knows it. A badge or PIN is proved, never read back. */
import { randomBytes, scryptSync, timingSafeEqual } from 'node:crypto';
import { numberedError } from '../errors/errors';
import type { PeopleEvent, Role } from '../ledger/events';
import type { LedgerReader } from '../ledger/ledger';

/** In the order first registered; the newest entry of a name counts. */
export function peopleInLog(ledger: LedgerReader): PeopleEvent[] {
  const people = new Map<string, PeopleEvent>();
  for (const event of ledger.shopEvents())
    if (event.type === 'technician registered') people.set(event.name, event);
  return [...people.values()];
}

/** The event that registers somebody. Throws 410 when the code is somebody else's or shorter than four characters. */
export function registration(
  people: readonly PeopleEvent[],
  { name, role, code }: { readonly name: string; readonly role: Role; readonly code: string },
): PeopleEvent {
  if (code.length < CODE_LENGTH)
    throw numberedError('badge not known', `a badge or PIN has at least ${CODE_LENGTH} characters`);
  const holder = people.find((p) => p.name !== name && isOf(p, code));
  if (holder !== undefined) throw numberedError('badge not known', 'somebody else has this badge or PIN');
  const salt = randomBytes(SALT_BYTES).toString('hex');
  return { type: 'technician registered', name, role, salt, proof: proofOf(code, salt) };
}

/** Who a badge or PIN belongs to. Throws 410 when nobody here has it. */
export function holderOf(people: readonly PeopleEvent[], code: string): PeopleEvent {
  const holder = people.find((p) => isOf(p, code));
  if (holder === undefined) throw numberedError('badge not known', `${people.length} people are registered`);
  return holder;
}

/** Who opens a job: a badge names its holder, without one the name stands as it was given. Throws 410. */
export function signedIn(
  ledger: LedgerReader,
  { badge = '', technician }: { readonly badge?: string | undefined; readonly technician: string },
): { readonly technician: string; readonly role?: Role } {
  if (badge === '') return { technician };
  const { name, role } = holderOf(peopleInLog(ledger), badge);
  return { technician: name, role };
}

const CODE_LENGTH = 4;
const SALT_BYTES = 16;
const PROOF_BYTES = 32;
/** About ten milliseconds a try: a list of badges is short, a list of all PINs is not. */
const COST = { N: 4096, r: 8, p: 1 };

function proofOf(code: string, salt: string): string {
  return scryptSync(code, Buffer.from(salt, 'hex'), PROOF_BYTES, COST).toString('hex');
}

function isOf({ salt, proof }: PeopleEvent, code: string): boolean {
  return timingSafeEqual(Buffer.from(proofOf(code, salt), 'hex'), Buffer.from(proof, 'hex'));
}
