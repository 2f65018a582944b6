/**
 * An emulated fixture and a host that share emulated time: the host's timers run by the chip's clock, so how fast the
 * emulator is changes nothing of what happens.
 */
import { readFileSync } from 'node:fs';
import { buildFirmware } from '../../firmware/build';
import { inFlash } from '../../firmware/byte-code';
import { FLASH_ADDRESS, buildImage, byteCode, missingForImage } from '../../firmware/image';
import type { Image } from '../../firmware/image';
import { openLink } from '../../host/link/index';
import type { Keep, Link, LinkOptions, Timers } from '../../host/link/index';
import { createSimulatedFixture } from '../../host/simulation/fixture';
import type { Scene } from '../../host/simulation/world';
import type { Body } from '../../protocol/wire';
import { BODY, LEVEL_SCENE } from '../unit/firmware/bench';
import { createEmulatedFixture } from './fixture';
import type { EmulatedFixture, EmulatedOptions } from './fixture';

const missing = missingForImage();

/** Why the tests of this folder cannot run here; undefined: they can. */
export const CANNOT_RUN = missing;
/** Name for a suite that says how to enable it where it is skipped. */
export const named = (name: string): string =>
  missing === undefined ? name : `${name} (the image ${missing})`;

let kept: Image | undefined;

/** The image of the bundle as it is now. */
export function currentImage(): Image {
  kept ??= buildImage(buildFirmware());
  return kept;
}

/** The image with another chunk, made from the text of the bundle. */
export function imageWith(chunkOf: (bundle: string) => string): Uint8Array {
  const { bin, symbols } = currentImage();
  return Buffer.concat([
    readFileSync(bin).subarray(0, symbols.get('firmware')! - FLASH_ADDRESS),
    inFlash(byteCode(chunkOf(buildFirmware()))),
  ]);
}

export interface Workbench {
  readonly fixture: EmulatedFixture;
  scene: Scene;
  readonly timers: Timers;
  /** Captures that a link of `link()` took in, in order. */
  readonly captures: Body<'captured'>[];
  /** Lets time pass for both, at once: what the host reads it only hears afterwards. */
  pass(us: number): void;
  /** Lets time pass for both. */
  run(ms: number): Promise<void>;
  /** Lets time pass until the promise is settled, at most so long. */
  within<T>(promise: Promise<T>, ms?: number): Promise<T>;
  link(options?: Partial<LinkOptions>): Promise<Link>;
}

/** So long the chip runs before the host has its turn, unless told. */
const SLICE_US = 1000;
const SEED = 5;

let fromFactory: Uint8Array | undefined;

/** What the factory leaves in the memory, written by the same firmware in the simulated fixture, where it takes no time. */
export async function factoryMemory(): Promise<Uint8Array> {
  if (fromFactory === undefined) {
    const fixture = await createSimulatedFixture({
      world: { sceneAt: () => LEVEL_SCENE },
      body: BODY,
      seed: SEED,
    });
    fromFactory = fixture.memory.slice();
    fixture.close();
  }
  return fromFactory.slice();
}

export async function workbench(
  options: Partial<EmulatedOptions> & { readonly sliceUs?: number } = {},
): Promise<Workbench> {
  const { sliceUs = SLICE_US } = options;
  const memory = options.memory ?? (await factoryMemory());
  const due: { atMs: number; then: () => void }[] = [];
  const captures: Body<'captured'>[] = [];
  const keep: Keep = (capture) => {
    if (captures.some((c) => c.capture === capture.capture)) return 'already kept';
    captures.push(capture);
    return 'kept';
  };
  const bench: Workbench = {
    fixture: undefined as unknown as EmulatedFixture,
    scene: LEVEL_SCENE,
    captures,
    timers: {
      nowMs: () => bench.fixture.nowUs / 1000,
      after: (delayMs, then) => {
        const entry = { atMs: bench.fixture.nowUs / 1000 + delayMs, then };
        due.push(entry);
        return () => {
          const at = due.indexOf(entry);
          if (at >= 0) due.splice(at, 1);
        };
      },
    },
    pass,
    run: async (ms) => {
      const endUs = bench.fixture.nowUs + ms * 1000;
      while (bench.fixture.nowUs < endUs) await slice();
    },
    within: async (promise, ms = 5000) => {
      let settled = false;
      const done = () => (settled = true);
      promise.then(done, done);
      const endUs = bench.fixture.nowUs + ms * 1000;
      while (!settled) {
        if (bench.fixture.nowUs > endUs) throw new Error(`nothing came within ${ms} ms of emulated time`);
        await slice();
      }
      return promise;
    },
    link: (linkOptions = {}) =>
      bench.within(
        openLink({
          open: () => bench.fixture.openPort(),
          name: 'emulated fixture',
          keep,
          timers: bench.timers,
          ...linkOptions,
        }),
      ),
  };

  function pass(us: number): void {
    bench.fixture.advance(us);
    for (const entry of [...due].sort((a, b) => a.atMs - b.atMs)) {
      if (entry.atMs > bench.fixture.nowUs / 1000 || !due.includes(entry)) continue;
      due.splice(due.indexOf(entry), 1);
      entry.then();
    }
  }

  async function slice(): Promise<void> {
    pass(sliceUs);
    for (let turn = 0; turn < 3; turn++) await new Promise((resolve) => setImmediate(resolve));
  }

  Object.assign(bench, {
    fixture: createEmulatedFixture({
      image: readFileSync(currentImage().bin),
      world: { sceneAt: () => bench.scene },
      body: BODY,
      seed: SEED,
      memory,
      ...options,
    }),
  });
  return bench;
}

export const ORDER: Body<'arm'> = { job: 12, step: 3, purpose: 0, liveHz: 50, standardErrorUm: 15 };

/** Resolves as soon as something holds; to be waited for with `within`. */
export function until(holds: () => boolean): Promise<void> {
  return new Promise((resolve) => {
    const look = () => (holds() ? resolve() : setImmediate(look));
    look();
  });
}
