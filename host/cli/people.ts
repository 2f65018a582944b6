import { peopleInLog, registration } from '../conduct/people-in-log';
import type { Role } from '../ledger/events';
import { columns } from '../terminal/stage-text';
import { print, printJson } from './output';
import { reading, writing } from './with-log';

export interface PeopleOptions {
  readonly log: string;
  readonly bay: string;
  readonly json?: boolean;
}

export interface PersonOptions extends PeopleOptions {
  readonly role: Role;
  readonly badge: string;
}

/** Who works here. */
export function people(options: PeopleOptions): Promise<number> {
  const rows = reading(options, (ledger) => peopleInLog(ledger).map(({ name, role }) => ({ name, role })));
  if (options.json === true) printJson(rows);
  else print(...columns([['name', 'role'], ...rows.map((r) => [r.name, r.role])]));
  return Promise.resolve(0);
}

/** Registers somebody, or gives a new badge or role to somebody registered. Errors: 410. */
export function addPerson(name: string, { role, badge, ...options }: PersonOptions): Promise<number> {
  writing(options, (ledger) =>
    ledger.appendOfShop(registration(peopleInLog(ledger), { name, role, code: badge })),
  );
  if (options.json === true) printJson({ name, role });
  else print(`${name}: ${role}`);
  return Promise.resolve(0);
}
