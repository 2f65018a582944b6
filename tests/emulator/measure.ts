/** The figures of the image that issue and notes name, in emulated time, each beside its bar. */
import { readFileSync } from 'node:fs';
import { captureHeightUm } from '../../protocol/solver/capture-height';
import { encodeFrame } from '../../protocol/wire';
import { CANNOT_RUN, ORDER, currentImage, imageWith, until, workbench } from './workbench';
import type { Workbench } from './workbench';

export interface Figure {
  readonly what: string;
  readonly value: number;
  readonly unit: string;
  /** The value must be at most, or at least, this. */
  readonly bar: { readonly atMost: number } | { readonly atLeast: number };
}

export function isMet({ value, bar }: Figure): boolean {
  return 'atMost' in bar ? value <= bar.atMost : value >= bar.atLeast;
}

const LASER_PIN_DARK = {
  what: "laser's line seen high before it was commanded",
  unit: 'times',
  bar: { atMost: 0 },
};

/** A word of the chip's RAM by its symbol. */
export function wordOf(bench: Workbench, name: string): number {
  const at = currentImage().symbols.get(name)! - 0x20000000;
  return bench.fixture.chip.mcu.sramView.getUint32(at, true);
}

export function heapBytes(): number {
  const { symbols } = currentImage();
  return symbols.get('heap_end')! - symbols.get('heap_start')!;
}

/** All figures; about a minute. */
export async function measureImage(): Promise<Figure[]> {
  if (CANNOT_RUN !== undefined) throw new Error(`the image ${CANNOT_RUN}`);
  return [...(await start()), ...(await heapAfterLoad()), ...(await measuring()), ...cLines()];
}

async function start(): Promise<Figure[]> {
  const bench = await workbench();
  const { fixture } = bench;
  fixture.uartSend(encodeFrame({ name: 'identify', sequence: 7, body: {} }));
  await bench.within(until(() => fixture.uartReceived.length > 0));
  const first = fixture.uartReceived[0].atUs;
  await bench.run(50);
  const last = fixture.uartReceived.at(-1)!.atUs;
  return [
    { ...LASER_PIN_DARK, value: fixture.laserLit },
    { what: 'first byte from Lua after reset', value: first / 1000, unit: 'ms', bar: { atMost: 40 } },
    { what: 'identify answered, sent with the reset', value: last / 1000, unit: 'ms', bar: { atMost: 60 } },
  ];
}

/** What the loaded program holds when its modules are built and everything else has been collected. */
async function heapAfterLoad(): Promise<Figure[]> {
  const image = imageWith(
    (bundle) =>
      `local fixture = (function(...) ${bundle} end)(...)
       return { step = function() collectgarbage() collectgarbage() return 1000000, fixture end }`,
  );
  const bench = await workbench({ image });
  await bench.run(80);
  const kilobytes = wordOf(bench, 'lua_bytes') / 1024;
  return [{ what: 'Lua heap after load', value: kilobytes, unit: 'KB', bar: { atMost: 110 } }];
}

async function measuring(): Promise<Figure[]> {
  const bench = await workbench();
  const { fixture } = bench;
  const arrivals: number[] = [];
  let live = 0;
  await bench.within(until(() => fixture.device !== undefined));
  const link = await bench.link({
    listeners: { live: () => (live += 1), captured: () => arrivals.push(fixture.nowUs) },
  });
  let samples = 0;
  let memoryUs: number | undefined;
  const { i2c } = fixture.chip.mcu;
  const onConnect = i2c[0].onConnect;
  i2c[0].onConnect = (address, mode) => {
    if (address === 0x48 && Number(mode) === 1) samples += 1;
    if (address === 0x50) memoryUs ??= fixture.nowUs;
    onConnect(address, mode);
  };
  // Warm and with the gyro's bias known: what is waited for from here on is noise alone.
  await bench.run(6000);
  const standardErrorUm = 8;
  await bench.within(link.request('arm', { ...ORDER, standardErrorUm }));
  await bench.run(500);
  samples = live = 0;
  await bench.run(2000);
  const [samplesPerS, livePerS] = [samples / 2, live / 2];

  // Armed anew the window is empty: what follows takes as long as a capture has to.
  const waited: number[] = [];
  const ideal: number[] = [];
  const toHost: number[] = [];
  let heightsApartUm = 0;
  for (let i = 0; i < 4; i++) {
    await bench.within(link.request('arm', { ...ORDER, standardErrorUm }));
    memoryUs = undefined;
    arrivals.length = 0;
    await bench.within(link.request('capture', {}));
    await bench.within(until(() => arrivals.length > 0));
    toHost.push((arrivals[0] - memoryUs!) / 1000);
    const capture = bench.captures.at(-1)!;
    const calibration = await bench.within(
      link.request('read-calibration', { headPosition: capture.headPosition }),
    );
    const again = captureHeightUm(calibration, capture);
    heightsApartUm = Math.max(heightsApartUm, Math.abs(again.heightUm - capture.height));
    // n samples of this noise have the wanted standard error; 4 ms each, 16 at least.
    const { knots } = calibration;
    const umPerCount = (knots[3] - knots[1]) / ((knots[2] - knots[0]) / 256);
    const sdUm = (capture.countsSd / 256) * umPerCount;
    ideal.push(4 * Math.max(16, (sdUm / standardErrorUm) ** 2));
    waited.push(capture.waitedMs);
  }
  const sum = (values: number[]) => values.reduce((a, b) => a + b, 0);
  const peak = (100 * wordOf(bench, 'lua_bytes_peak')) / heapBytes();
  const figures: Figure[] = [
    {
      what: 'samples a second while 50/s are streamed',
      value: samplesPerS,
      unit: '/s',
      bar: { atLeast: 200 },
    },
    { what: 'live notices a second over USB', value: livePerS, unit: '/s', bar: { atLeast: 49.5 } },
    {
      what: 'settle time against the ideal of its noise',
      value: sum(waited) / sum(ideal),
      unit: 'x',
      bar: { atMost: 1.3 },
    },
    {
      what: 'capture to host, from its first byte kept',
      value: Math.max(...toHost),
      unit: 'ms',
      bar: { atMost: 20 },
    },
    { what: "fixture's height against the host's", value: heightsApartUm, unit: 'um', bar: { atMost: 0 } },
    {
      what: `Lua heap, peak, of ${(heapBytes() / 1024).toFixed(0)} KB`,
      value: peak,
      unit: '%',
      bar: { atMost: 70 },
    },
    { what: 'allocations refused', value: wordOf(bench, 'lua_refused'), unit: '', bar: { atMost: 0 } },
    { what: 'complaints of the emulator', value: fixture.complaints.length, unit: '', bar: { atMost: 0 } },
  ];
  await bench.within(link.close());
  return figures;
}

export function figureLine(figure: Figure): string {
  const { what, value, unit, bar } = figure;
  const number = Number.isInteger(value) ? String(value) : value.toFixed(unit === 'x' ? 2 : 1);
  const limit = 'atMost' in bar ? `at most ${bar.atMost}` : `at least ${bar.atLeast}`;
  return `${what.padEnd(48)} ${`${number} ${unit}`.padStart(12)}   ${limit}${isMet(figure) ? '' : '   NOT MET'}`;
}

/** Lines of the board layer's C that are neither blank nor comment. */
function cLines(): Figure[] {
  const { cFiles } = currentImage();
  const text = cFiles.map((file) => readFileSync(file, 'utf8').replaceAll(/\/\*[^]*?\*\//g, '')).join('\n');
  const value = text.split('\n').filter((line) => line.trim() !== '').length;
  return [{ what: 'C of the board layer, lines with code', value, unit: '', bar: { atMost: 700 } }];
}
