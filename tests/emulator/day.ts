/**
 * A day of the image at rest: a host's heartbeat every two seconds, a sample twice a second. Instead of 250 samples a second
 * the chip takes two, because its sleep ends late; all else is as ever, the watchdog included. The chip's microseconds
 * wrap twenty times.
 */
import { wordOf } from './measure';
import { until, workbench } from './workbench';

const HOURS = 24;
const HEARTBEAT_MS = 2000;
const SLEEP_US = 400_000;

export async function dayText(hours = HOURS, hourUs = 3.6e9): Promise<string[]> {
  const bench = await workbench({ lateWakeUs: SLEEP_US, portLookUs: 20_000, sliceUs: 20_000 });
  const { fixture } = bench;
  let samples = 0;
  const { i2c } = fixture.chip.mcu;
  const onConnect = i2c[0].onConnect;
  i2c[0].onConnect = (address, mode) => {
    if (address === 0x48 && Number(mode) === 1) samples += 1;
    onConnect(address, mode);
  };
  const startUs = fixture.nowUs;
  await bench.within(until(() => fixture.device !== undefined));
  // With so few steps a second phase starting takes its time.
  await bench.run(10_000);
  const link = await bench.link();
  const lines: string[] = [];
  const least: number[] = [];
  let clockOffMs = 0;
  let beats = 0;
  for (let hour = 1; hour <= hours; hour++) {
    let low = Infinity;
    while (fixture.nowUs - startUs < hour * hourUs) {
      await bench.run(HEARTBEAT_MS);
      const status = await bench.within(link.request('report-status', {}));
      const off = Math.abs(status.uptimeMs - (fixture.nowUs - startUs) / 1000);
      clockOffMs = Math.max(clockOffMs, off);
      if (status.faults !== 0 || status.phase !== 1 || status.laserOn !== 0)
        throw new Error(`hour ${hour}: ${JSON.stringify(status)}`);
      low = Math.min(low, wordOf(bench, 'lua_bytes'));
      beats += 1;
    }
    least.push(low);
    lines.push(`hour ${String(hour).padStart(2)}: least Lua heap ${(low / 1024).toFixed(1)} KB`);
  }
  const grown = least.at(-1)! - least[0];
  const seconds = (fixture.nowUs - startUs) / 1e6;
  const wraps = Math.floor((seconds * 1e6) / 2 ** 32);
  const met =
    Math.abs(grown) < 512 && clockOffMs < 1000 && fixture.resets.length === 0 && samples / seconds >= 1;
  if (!met) process.exitCode = 1;
  return [
    ...lines,
    `${(seconds / 3600).toFixed(1)} hours, ${beats} heartbeats, ${(samples / seconds).toFixed(1)} samples a second, the clock wrapped ${wraps} times`,
    `uptime against the true time: never more than ${clockOffMs.toFixed(0)} ms apart (an answer's way; a missed wrap would be 4 294 967 ms)`,
    `least heap, last hour against first: ${grown >= 0 ? '+' : ''}${grown} bytes (no growth: less than 512)`,
    `restarts ${fixture.resets.length}, complaints of the emulator ${fixture.complaints.length}`,
    met ? 'all bars met' : 'NOT MET',
  ];
}
