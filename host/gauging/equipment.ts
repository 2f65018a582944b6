/** The register of reference equipment: what traces the shop's readings to a laboratory, and until when. */
import { numberedError } from '../errors/errors';
import type { HeightMaster } from './height-master';

/** ISO 8601, as in 2026-03-02. */
export type Day = string;

export const EQUIPMENT_KINDS = [
  'height master',
  'gauge blocks',
  'level',
  'pull scale',
  'tyre gauge',
  'thermometer',
  'ballast',
] as const;
export type EquipmentKind = (typeof EQUIPMENT_KINDS)[number];

export interface Equipment {
  readonly id: string;
  readonly kind: EquipmentKind;
  readonly certificate: string;
  readonly laboratory: string;
  readonly calibratedOn: Day;
  /** The last day on which it counts. */
  readonly due: Day;
  /** U of the certificate, k = 2, in `unit`. */
  readonly expandedUncertainty: number;
  readonly unit: string;
  /**
   * What the certificate gives. Height master: low and high edge of the low head, then of the high head. Gauge blocks: their
   * lengths. Others: their correction or mass, as far as it is used.
   */
  readonly values: readonly number[];
  /** Of a height master: the fixture that lives in it; left out: any. */
  readonly fixtureId?: string;
}

const UNITS: Record<EquipmentKind, string> = {
  'height master': 'mm',
  'gauge blocks': 'mm',
  level: 'mm/m',
  'pull scale': 'N',
  'tyre gauge': 'kPa',
  thermometer: 'degC',
  ballast: 'kg',
};

/** The entry with its unit. Throws 477 naming every field that is missing or cannot be. */
export function checkedEquipment(given: Omit<Equipment, 'unit'>): Equipment {
  const faults: string[] = [];
  const { kind, values, calibratedOn, due } = given;
  for (const name of ['id', 'certificate', 'laboratory'] as const)
    if (given[name].trim() === '' || given[name].length > 80)
      faults.push(`${name}: 1 to 80 characters are wanted`);
  if (!EQUIPMENT_KINDS.includes(kind)) faults.push(`kind: one of ${EQUIPMENT_KINDS.join(', ')}`);
  for (const name of ['calibratedOn', 'due'] as const)
    if (!isDay(given[name])) faults.push(`${name}: a day as in 2026-03-02 is wanted`);
  if (isDay(calibratedOn) && isDay(due) && due <= calibratedOn) faults.push('due: not after the calibration');
  if (!(given.expandedUncertainty > 0)) faults.push('uncertainty: a number above 0 is wanted');
  if (values.some((v) => !Number.isFinite(v))) faults.push('values: numbers are wanted');
  if (kind === 'height master' && !isMaster(values))
    faults.push(
      'values: four heights from 5 to 300 mm: low and high edge of the low head, then of the high head',
    );
  if (kind === 'gauge blocks' && !(values.length > 0 && values.every((v) => v > 0 && v <= 150)))
    faults.push('values: lengths above 0 up to 150 mm');
  if (faults.length > 0) throw numberedError('equipment unreadable', faults.join('; '));
  return { ...given, unit: UNITS[kind] };
}

function isMaster(values: readonly number[]): boolean {
  const [a, b, c, d] = values;
  return values.length === 4 && values.every((v) => v >= 5 && v <= 300) && b - a >= 10 && d - c >= 10;
}

export function isDay(text: string): boolean {
  return /^\d{4}-\d{2}-\d{2}$/.test(text) && !Number.isNaN(Date.parse(`${text}T00:00:00Z`));
}

export function daysAfter(day: Day, days: number): Day {
  return new Date(Date.parse(`${day}T00:00:00Z`) + days * 86_400_000).toISOString().slice(0, 10);
}

export function isOverdue({ due }: Equipment, on: Day): boolean {
  return on > due;
}

/** The height master of a fixture: its own, or else one that is for any. The newest entry of several counts. */
export function masterEquipment(register: readonly Equipment[], fixtureId: string): Equipment | undefined {
  const masters = register.filter((e) => e.kind === 'height master');
  return (
    masters.findLast((e) => e.fixtureId === fixtureId) ?? masters.findLast((e) => e.fixtureId === undefined)
  );
}

export function heightMasterOf({ id, values }: Equipment): HeightMaster {
  const [a, b, c, d] = values;
  return {
    name: id,
    edges: [
      { lowMm: a, highMm: b },
      { lowMm: c, highMm: d },
    ],
  };
}

/** The reference of this kind. Throws 479 when there is none, or when it is past its date. */
export function referenceInForce(
  register: readonly Equipment[],
  kind: EquipmentKind,
  on: Day,
  fixtureId: string,
): Equipment {
  const found =
    kind === 'height master'
      ? masterEquipment(register, fixtureId)
      : register.findLast((e) => e.kind === kind);
  if (found === undefined) throw numberedError('reference overdue', `no ${kind} in the register`);
  if (isOverdue(found, on))
    throw numberedError('reference overdue', `${kind} ${found.id} was due on ${found.due}`);
  return found;
}
