/**
 * A part on the two-wire bus, as the bus sees it: byte by byte. The same models answer the simulated fixture's bus and,
 * later, the bus of an emulated microcontroller.
 */
import type { Scene } from '../world';

export interface Slave {
  /** 7 bit. */
  readonly address: number;
  /** Start or repeated start with this part's address. */
  start(read: boolean): void;
  /** Takes a byte; false: not acknowledged. */
  write(byte: number): boolean;
  read(): number;
  stop(): void;
}

/** What a part feels: time and scene of the simulation, now. */
export interface Surroundings {
  nowUs(): number;
  scene(): Scene;
}
