/** The laser's enable line. Created dark; whoever wants it lit says so every time. */
import type { Pins } from '../ports/ports';

export interface Laser {
  set(on: boolean): void;
  isOn(): boolean;
}

export function createLaser(pins: Pins): Laser {
  let lit = false;
  pins.setLaser(false);
  return {
    set: (on) => {
      if (on === lit) return;
      lit = on;
      pins.setLaser(on);
    },
    isOn: () => lit,
  };
}
