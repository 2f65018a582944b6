/** The register of reference equipment: list, add or replace an entry, withdraw one. */
import { registerInLog } from '../conduct/gauging-in-log';
import { today } from '../conduct/today';
import { numberedError } from '../errors/errors';
import {
  checkedEquipment,
  daysAfter,
  isOverdue,
  type Equipment,
  type EquipmentKind,
} from '../gauging/equipment';
import { tableText } from '../terminal/table-text';
import { print, printJson } from './output';
import { reading, writing } from './with-log';

export interface RegisterOptions {
  readonly bay: string;
  readonly log: string;
  readonly json?: boolean;
}

export interface EntryOptions extends RegisterOptions {
  readonly id: string;
  readonly kind: EquipmentKind;
  readonly certificate: string;
  readonly laboratory: string;
  readonly date: string;
  readonly due: string;
  readonly uncertainty: string;
  readonly values?: string;
  readonly fixture?: string;
}

/** Days before its date at which an entry is said to be due soon. */
const SOON_DAYS = 30;

/** Exit code 1 when an entry is overdue. Errors: those of the log. */
export function showRegister(options: RegisterOptions): Promise<number> {
  const on = today();
  const register = reading(options, registerInLog).map((e) => ({ ...e, state: stateOf(e, on) }));
  if (options.json === true) printJson(register);
  else if (register.length === 0)
    print('The register is empty; `swathplane equipment add --help` shows the form.');
  else {
    print(
      ...tableText({
        title: `Reference equipment on ${on}`,
        head: ['id', 'kind', 'certificate', 'laboratory', 'calibrated', 'due', '', 'U (k = 2)', 'values'],
        rows: register.map((e) => [
          e.id,
          e.kind + (e.fixtureId === undefined ? '' : ` of ${e.fixtureId}`),
          e.certificate,
          e.laboratory,
          e.calibratedOn,
          e.due,
          e.state,
          `${e.expandedUncertainty} ${e.unit}`,
          e.values.join(', '),
        ]),
      }),
    );
  }
  return Promise.resolve(register.some((e) => e.state === 'OVERDUE') ? 1 : 0);
}

/** Errors: 477 and those of the log. */
export function addEquipment(options: EntryOptions): Promise<number> {
  const equipment = checkedEquipment({
    id: options.id,
    kind: options.kind,
    certificate: options.certificate,
    laboratory: options.laboratory,
    calibratedOn: options.date,
    due: options.due,
    expandedUncertainty: numberOf(options.uncertainty),
    values: (options.values ?? '')
      .split(/[\s;,]+/)
      .filter((t) => t !== '')
      .map(numberOf),
    ...(options.fixture === undefined ? {} : { fixtureId: options.fixture }),
  });
  writing(options, (ledger) => ledger.appendOfShop({ type: 'equipment registered', equipment, on: today() }));
  if (options.json === true) printJson(equipment);
  else
    print(
      `${equipment.id}, ${equipment.kind}: certificate ${equipment.certificate}, due on ${equipment.due}`,
    );
  return Promise.resolve(0);
}

/** Errors: 478 and those of the log. */
export function withdrawEquipment(
  id: string,
  options: RegisterOptions & { readonly reason: string },
): Promise<number> {
  writing(options, (ledger) => {
    if (!registerInLog(ledger).some((e) => e.id === id)) throw numberedError('no such equipment', id);
    ledger.appendOfShop({ type: 'equipment withdrawn', id, on: today(), reason: options.reason });
  });
  if (options.json === true) printJson({ withdrawn: id });
  else print(`${id} is withdrawn; what was measured with it keeps its entry.`);
  return Promise.resolve(0);
}

function stateOf(equipment: Equipment, on: string): string {
  if (isOverdue(equipment, on)) return 'OVERDUE';
  return isOverdue(equipment, daysAfter(on, SOON_DAYS)) ? 'due soon' : 'in force';
}

function numberOf(text: string): number {
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(text) ? Number(text) : NaN;
}
