/**
 * A day of the image at rest, with the host's heartbeat every two seconds. The chip runs every instruction of every step
 * that it takes. What is left out is steps: a sleep ends after 450 ms and not after 4, so that three samples a second
 * are taken instead of 250, and a byte on the bus takes 1 us, which the program would only wait for. While the chip sleeps
 * its clock goes from one event to the next, which is exact: nothing can happen in between. The watchdog bites after
 * 500 ms, as ever; the chip's microseconds wrap twenty times.
 */
import { wordOf } from './measure';
import { until, workbench } from './workbench';

const HOURS = 24;
/** The program's own watchdog lets it sleep for less than 500 ms. */
const SLEEP_US = 450_000;
const LOOK_MS = 2000;
/** How often the host is asked here what it knows; its own heartbeats come between. */
const LOOKS_PER_STATUS = 30;

export async function dayText(hours = HOURS, hourUs = 3.6e9): Promise<string[]> {
  const bench = await workbench({
    lateWakeUs: SLEEP_US,
    portLookUs: 20_000,
    sliceUs: 20_000,
    busByteUs: 1,
  });
  const { fixture } = bench;
  let samples = 0;
  let answers = 0;
  const { i2c, usbCtrl } = fixture.chip.mcu;
  const onConnect = i2c[0].onConnect;
  i2c[0].onConnect = (address, mode) => {
    if (address === 0x48 && Number(mode) === 1) samples += 1;
    onConnect(address, mode);
  };
  const onEndpointWrite = usbCtrl.onEndpointWrite;
  usbCtrl.onEndpointWrite = (endpoint, bytes) => {
    if (endpoint !== 0) answers += 1;
    onEndpointWrite?.(endpoint, bytes);
  };
  const startUs = fixture.nowUs;
  await bench.within(until(() => fixture.device !== undefined));
  // With so few steps a second phase starting takes its time.
  await bench.run(10_000);
  const link = await bench.link();
  const lines: string[] = [];
  const least: number[] = [];
  let clockOffMs = 0;
  let looks = 0;
  for (let hour = 1; hour <= hours; hour++) {
    let low = Infinity;
    while (fixture.nowUs - startUs < hour * hourUs) {
      await bench.run(LOOK_MS);
      low = Math.min(low, wordOf(bench, 'lua_bytes'));
      looks += 1;
      if (looks % LOOKS_PER_STATUS !== 0) continue;
      const status = await bench.within(link.request('report-status', {}));
      const off = Math.abs(status.uptimeMs - (fixture.nowUs - startUs) / 1000);
      clockOffMs = Math.max(clockOffMs, off);
      if (status.faults !== 0 || status.phase !== 1 || status.laserOn !== 0)
        throw new Error(`hour ${hour}: ${JSON.stringify(status)}`);
    }
    least.push(low);
    lines.push(`hour ${String(hour).padStart(2)}: least Lua heap ${(low / 1024).toFixed(1)} KB`);
    console.error(lines.at(-1));
  }
  const grown = least.at(-1)! - least[0];
  const seconds = (fixture.nowUs - startUs) / 1e6;
  const wraps = Math.floor((seconds * 1e6) / 2 ** 32);
  const met =
    Math.abs(grown) < 512 &&
    clockOffMs < 1000 &&
    fixture.resets.length === 0 &&
    samples / seconds >= 1 &&
    answers / seconds >= 0.4;
  if (!met) process.exitCode = 1;
  return [
    ...lines,
    `${(seconds / 3600).toFixed(1)} hours, ${answers} answers to heartbeats and questions, ${(samples / seconds).toFixed(1)} samples a second, the clock wrapped ${wraps} times`,
    `uptime against the true time: never more than ${clockOffMs.toFixed(0)} ms apart (an answer's way; a missed wrap would be 4 294 967 ms)`,
    `least heap, last hour against first: ${grown >= 0 ? '+' : ''}${grown} bytes (no growth: less than 512)`,
    `restarts ${fixture.resets.length}, complaints of the emulator ${fixture.complaints.length}`,
    met ? 'all bars met' : 'NOT MET',
  ];
}
