/** Jobs of 200 captures each on the image, one after the other: what its heap holds, and whether it grows. */
import { heapBytes, wordOf } from './measure';
import { ORDER, until, workbench } from './workbench';

const CAPTURES = 200;
const JOBS = 3;
const BAR_PERCENT = 70;

export async function jobsText(): Promise<string[]> {
  const bench = await workbench();
  const { fixture } = bench;
  await bench.within(until(() => fixture.device !== undefined));
  const link = await bench.link();
  const lines: string[] = [];
  const least: number[] = [];
  let samples = 0;
  let refused = 0;
  for (let job = 1; job <= JOBS; job++) {
    let most = 0;
    let low = Infinity;
    for (let step = 1; step <= CAPTURES; step++) {
      bench.scene = {
        ...bench.scene,
        distanceMm: 75 + ((step * 7) % 50),
        headPosition: step % 2 === 0 ? 1 : 0,
      };
      // Nobody's hand carries it, so the motion part feels nothing of the jump: only a window begun anew is still.
      await bench.run(20);
      await bench.within(link.request('arm', { ...ORDER, job, step, liveHz: 20 }));
      const before = bench.captures.length;
      await bench.within(link.request('capture', {}));
      while (bench.captures.length === before) {
        await bench.run(1);
        const bytes = wordOf(bench, 'lua_bytes');
        most = Math.max(most, bytes);
        low = Math.min(low, bytes);
        samples += 1;
      }
      await bench.run(30);
    }
    await bench.within(link.request('disarm', {}));
    least.push(low);
    refused += wordOf(bench, 'lua_refused');
    lines.push(`job ${job}: ${CAPTURES} captures; Lua heap ${kb(low)} to ${kb(most)}`);
    console.error(lines.at(-1));
  }
  const numbers = bench.captures.map((capture) => capture.capture);
  const inOrder = numbers.every((number, i) => number === i + 1) && numbers.length === JOBS * CAPTURES;
  const peakPercent = (100 * wordOf(bench, 'lua_bytes_peak')) / heapBytes();
  const grown = (least.at(-1) ?? 0) - (least[0] ?? 0);
  const met = inOrder && peakPercent <= BAR_PERCENT && Math.abs(grown) < 512 && refused === 0;
  if (!met) process.exitCode = 1;
  return [
    ...lines,
    `captures numbered without gap or double: ${inOrder ? 'yes' : 'NO'}`,
    `peak since the start: ${peakPercent.toFixed(1)} % of ${kb(heapBytes())} (at most ${BAR_PERCENT} %), allocations refused: ${refused}`,
    `least that the heap held, last job against first: ${grown >= 0 ? '+' : ''}${grown} bytes (no growth: less than 512)`,
    `looked at ${samples} times; restarts ${fixture.resets.length}, complaints of the emulator ${fixture.complaints.length}`,
    met ? 'all bars met' : 'NOT MET',
  ];
}

const kb = (bytes: number) => `${(bytes / 1024).toFixed(1)} KB`;
