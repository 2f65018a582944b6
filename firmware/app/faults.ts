/** The faults that stand, as the bit set of `status.faults`. */
import type { FixtureErrorName } from '../../protocol/wire';
import { faultBit } from './numbers';

/** With one of these nothing can be measured or kept: the laser stays off and the phase is `fault`. */
const DISABLING: readonly FixtureErrorName[] = [
  'converter missing',
  'motion part missing',
  'memory missing',
  'bus stuck',
];

export interface Faults {
  raise(name: FixtureErrorName): void;
  clear(name: FixtureErrorName): void;
  stands(name: FixtureErrorName): boolean;
  /** The first standing fault that forbids measuring. */
  disabling(): FixtureErrorName | undefined;
  bits(): number;
}

/** `onNew` is called when a fault is raised that did not stand before. */
export function createFaults(onNew: (name: FixtureErrorName) => void): Faults {
  let standing: FixtureErrorName[] = [];

  function stands(name: FixtureErrorName): boolean {
    for (const other of standing) if (other === name) return true;
    return false;
  }

  return {
    stands: (name) => stands(name),
    raise: (name) => {
      if (stands(name)) return;
      standing.push(name);
      onNew(name);
    },
    clear: (name) => {
      if (!stands(name)) return;
      const others: FixtureErrorName[] = [];
      for (const other of standing) if (other !== name) others.push(other);
      standing = others;
    },
    disabling: () => {
      for (const name of DISABLING) if (stands(name)) return name;
      return undefined;
    },
    bits: () => {
      let bits = 0;
      for (const name of standing) bits += faultBit(name);
      return bits;
    },
  };
}
