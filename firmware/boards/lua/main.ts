/**
 * The firmware on any board that runs it as Lua. The board puts one global table of natives, `board`, in place, loads
 * the chunk, and then calls the exported `step` for ever, sleeping in between for as long as `step` returned.
 *
 * Bytes pass between Lua and the board as strings.
 */
import { createFixture } from '../../app/fixture';
import type { RunningFixture } from '../../app/fixture';
import type { Ports } from '../../ports/ports';

/** What a board has to provide. */
interface Natives {
  /** Free-running, unsigned 32 bit. */
  micros(this: void): number;
  /** Writes `bytes` to the part at `address`, then reads `readCount` bytes; nil: not acknowledged, or the bus is held. */
  transfer(this: void, address: number, bytes: string, readCount: number): string | undefined;
  /** Clocks a held bus free; false: it stays held. */
  recover(this: void): boolean;
  setLaser(this: void, on: boolean): void;
  setLamp(this: void, red: number, green: number, blue: number): void;
  buttonDown(this: void): boolean;
  headPosition(this: void): number;
  /** What came from the host since the last call, at most 256 bytes. */
  read(this: void): string;
  /** False: no room or no host, and nothing was taken. */
  write(this: void, bytes: string): boolean;
  restart(this: void, toUpdate: boolean): void;
  resetCause: number;
  board: string;
  fixtureId: string;
}

declare const board: Natives;

const NO_BYTES: number[] = [];

function toBytes(text: string): number[] {
  return text === '' ? NO_BYTES : [...string.byte(text, 1, -1)];
}

const ports: Ports = {
  bus: {
    transfer: (address, bytes, readCount) => {
      const read = board.transfer(address, string.char(...bytes), readCount);
      return read === undefined ? undefined : toBytes(read);
    },
    recover: () => board.recover(),
  },
  pins: {
    setLaser: (on) => board.setLaser(on),
    setLamp: (red, green, blue) => board.setLamp(red, green, blue),
    buttonDown: () => board.buttonDown(),
    headPosition: () => board.headPosition(),
  },
  clock: { micros: () => board.micros() },
  stream: {
    read: () => toBytes(board.read()),
    write: (bytes) => board.write(string.char(...bytes)),
  },
  supervisor: {
    resetCause: () => board.resetCause,
    restart: (toUpdate) => board.restart(toUpdate),
  },
  facts: { board: board.board, fixtureId: board.fixtureId },
};

let fixture: RunningFixture | undefined = undefined;

/** See `RunningFixture.step`. The first call starts the fixture: by then the board has its memory back from loading. */
export const step = (): number => {
  if (fixture === undefined) fixture = createFixture(ports);
  return fixture.step();
};
