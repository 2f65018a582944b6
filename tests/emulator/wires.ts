/** What is soldered to the board's pins: the two-wire bus with its parts, and the single lines. */
import { GPIOPinState } from 'rp2040js';
import type { RP2040 } from 'rp2040js';
import type { Slave } from '../../host/simulation/parts/slave';

/** Pins as board.h names them. */
export const PIN = { laser: 2, head: 3, sda: 4, scl: 5, button: 6, red: 10, green: 11, blue: 12 } as const;

/** Nine clocks at 400 kHz. */
export const US_PER_BYTE = 22.5;
const US_PER_EDGE = 2.5;

export interface BusFaults {
  readonly missing: Set<number>;
  /** A part holds the data line low until it was clocked so often; Infinity: for ever; 0: not at all. */
  heldForClocks: number;
  /** Set by `wireBus`: to be called after `heldForClocks` was changed from outside. */
  changed?: () => void;
}

/**
 * Puts `parts` on the bus, where a byte takes `byteUs`. `onStart` is called before each transaction, `onByte` after each
 * byte that a part took.
 */
export function wireBus(
  mcu: RP2040,
  parts: readonly Slave[],
  faults: BusFaults,
  byteUs: number,
  onStart: () => void,
  onByte: () => void,
): void {
  const i2c = mcu.i2c[0];
  let part: Slave | undefined;
  let startHeld = false;
  let then: (() => void) | undefined;
  const alarm = mcu.clock.createAlarm(() => {
    const due = then;
    then = undefined;
    due?.();
  });
  const after = (us: number, what: () => void) => {
    then = what;
    alarm.schedule(us * 1000);
  };

  i2c.onStart = () => {
    onStart();
    // A controller does not begin while somebody holds the line; the firmware's own time limit has to end that.
    if (faults.heldForClocks > 0) startHeld = true;
    else after(US_PER_EDGE, () => i2c.completeStart());
  };
  i2c.onConnect = (address, mode) => {
    part = faults.missing.has(address) ? undefined : parts.find((p) => p.address === address);
    after(byteUs, () => {
      part?.start(Number(mode) === 1);
      i2c.completeConnect(part !== undefined);
    });
  };
  i2c.onWriteByte = (byte) =>
    after(byteUs, () => {
      const taken = part?.write(byte) ?? false;
      onByte();
      i2c.completeWrite(taken);
    });
  i2c.onReadByte = () => after(byteUs, () => i2c.completeRead(part?.read() ?? 0xff));
  i2c.onStop = () =>
    after(US_PER_EDGE, () => {
      part?.stop();
      part = undefined;
      i2c.completeStop();
    });

  // Both lines are pulled up. Who holds the data line counts the clocks that the firmware makes by hand.
  mcu.gpio[PIN.scl].setInputValue(true);
  const showData = () => {
    mcu.gpio[PIN.sda].setInputValue(faults.heldForClocks === 0);
    if (faults.heldForClocks > 0 || !startHeld) return;
    // The firmware has reset the controller meanwhile, which the emulator does not do: it ends the old start now.
    startHeld = false;
    i2c.completeStart();
  };
  faults.changed = showData;
  mcu.gpio[PIN.scl].addListener((state) => {
    if (state !== GPIOPinState.Low || faults.heldForClocks === 0) return;
    faults.heldForClocks -= 1;
    showData();
  });
  showData();
}

/** Red, green and blue as the lamp shines, 0 to 255. */
export function lampOf(mcu: RP2040): [number, number, number] {
  const [first, second] = [mcu.pwm.channels[5], mcu.pwm.channels[6]];
  // On for so many of 65536 counts, in steps of 256; a channel that does not count leaves its pins low.
  const on = (pin: number, channel: typeof first, shift: number) =>
    mcu.gpio[pin].functionSelect === 4 && (channel.readRegister(0x00) & 1) === 1
      ? (channel.readRegister(0x0c) >>> (shift + 8)) & 0xff
      : 0;
  return [on(PIN.red, first, 0), on(PIN.green, first, 16), on(PIN.blue, second, 0)];
}
