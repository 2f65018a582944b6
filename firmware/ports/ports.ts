/**
 * The interfaces between the firmware and the world. A board layer provides them; the firmware knows nothing else.
 * Bytes are numbers 0 to 255 in arrays. Nothing here blocks for longer than one bus transaction.
 */

/** The two-wire bus with the converter, the motion part and the memory on it. */
export interface Bus {
  /**
   * One transaction: writes `bytes` to the 7-bit `address`, then, when `readCount` > 0, reads that many after a repeated
   * start. Returns the bytes read (empty when none asked), or undefined when the part did not acknowledge or the bus is
   * held.
   */
  transfer(address: number, bytes: readonly number[], readCount: number): number[] | undefined;
  /** Clocks a held bus free. Returns false when it stays held. */
  recover(): boolean;
}

export interface Pins {
  setLaser(on: boolean): void;
  /** Each part 0 to 255. */
  setLamp(red: number, green: number, blue: number): void;
  /** True while the button is down (the board layer inverts, it does not debounce). */
  buttonDown(): boolean;
  /** Pinned head position from the contact: 0 low, 1 high. */
  headPosition(): number;
}

export interface Clock {
  /** Free-running microseconds, unsigned 32 bit: wraps every 71.6 minutes. */
  micros(): number;
}

export interface ByteStream {
  /** All bytes that came since the last call, perhaps none. */
  read(): number[];
  /** Queues bytes; returns false, taking none of them, when the outgoing buffer has no room or no host is connected. */
  write(bytes: readonly number[]): boolean;
}

export interface Supervisor {
  /** Value of RESET_CAUSES for this start. */
  resetCause(): number;
  /** Does not return on a real board. */
  restart(toUpdate: boolean): void;
}

export interface BoardFacts {
  /** Class of board, for `identity`. */
  readonly board: string;
  /** Unique name of this fixture. */
  readonly fixtureId: string;
}

export interface Ports {
  readonly bus: Bus;
  readonly pins: Pins;
  readonly clock: Clock;
  readonly stream: ByteStream;
  readonly supervisor: Supervisor;
  readonly facts: BoardFacts;
}
