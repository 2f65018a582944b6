/**
 * Figures of the image in emulated time: `node host/run.mjs tests/emulator/figures.ts`. The flash costs no waiting in the
 * emulator, so a real board is slower by what its cache misses cost.
 */
import { encodeFrame } from '../../protocol/wire';
import { CANNOT_RUN, ORDER, currentImage, until, workbench } from './workbench';

if (CANNOT_RUN !== undefined) throw new Error(`the image ${CANNOT_RUN}`);

const { symbols } = currentImage();
const bench = await workbench();
const { fixture } = bench;
const word = (name: string) => fixture.chip.mcu.sramView.getUint32(symbols.get(name)! - 0x20000000, true);
const say = (what: string, value: string, limit: string) =>
  console.log(`${what.padEnd(44)} ${value.padStart(12)}   ${limit}`);
const heapBytes = symbols.get('heap_end')! - symbols.get('heap_start')!;

// Whether Lua has begun to run shows in the first transaction on the bus.
let firstBusUs: number | undefined;
const { i2c } = fixture.chip.mcu;
const onStart = i2c[0].onStart;
i2c[0].onStart = (repeated) => {
  firstBusUs ??= fixture.chip.nowUs();
  onStart(repeated);
};
let loaded = 0;
fixture.uartSend(encodeFrame({ name: 'identify', sequence: 7, body: {} }));
while (fixture.uartReceived.length === 0) {
  fixture.advance(500);
  if (firstBusUs === undefined) loaded = word('lua_bytes');
}
const first = fixture.uartReceived[0].atUs;
await bench.run(50);
const answered = fixture.uartReceived.at(-1)!.atUs;
say('laser line seen high before it was commanded', `${fixture.laserLit} times`, 'must be 0');
say('first bus transaction of Lua', `${(firstBusUs! / 1000).toFixed(1)} ms`, '');
say('first byte from Lua (UART)', `${(first / 1000).toFixed(1)} ms`, 'wanted < 40 ms');
say('identify answered (UART, last byte)', `${(answered / 1000).toFixed(1)} ms`, 'wanted < 60 ms');
say('Lua heap when the first step begins', `${(loaded / 1024).toFixed(1)} KB`, 'wanted <= 110 KB');

const arrivals: number[] = [];
let live = 0;
await bench.within(until(() => fixture.device !== undefined));
const link = await bench.link({
  listeners: { live: () => (live += 1), captured: () => arrivals.push(fixture.nowUs) },
});
let samples = 0;
let memoryUs: number | undefined;
const onConnect = i2c[0].onConnect;
i2c[0].onConnect = (address, mode) => {
  if (address === 0x48 && Number(mode) === 1) samples += 1;
  if (address === 0x50) memoryUs ??= fixture.nowUs;
  onConnect(address, mode);
};
await bench.within(link.request('arm', ORDER));
await bench.run(500);
samples = live = 0;
await bench.run(2000);
say('samples a second while 50/s are streamed', (samples / 2).toFixed(0), 'wanted >= 200');
say('live notices a second over USB', (live / 2).toFixed(0), 'wanted 50');
memoryUs = undefined;
await bench.within(link.request('capture', {}));
await bench.within(until(() => arrivals.length > 0));
say(
  'capture to host, from its first byte kept',
  `${((arrivals[0] - memoryUs!) / 1000).toFixed(1)} ms`,
  'wanted <= 20 ms',
);
say(
  'Lua heap, peak so far',
  `${(word('lua_bytes_peak') / 1024).toFixed(1)} KB`,
  `${((100 * word('lua_bytes_peak')) / heapBytes).toFixed(0)} % of ${(heapBytes / 1024).toFixed(0)} KB; wanted <= 70 %`,
);
say('allocations refused', String(word('lua_refused')), 'must be 0');
say('complaints of the emulator', String(fixture.complaints.length), 'must be 0');
await bench.within(link.close());
