/**
 * Prints what the full record of a job with 200 readings takes: a warranty job on five spindles in the simulated shop, its
 * readings repeated until there are 200. Medians in this process after a run to warm up, and the first run, which is what
 * a command that does nothing else pays.
 */
import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { openLedgerForReading } from '../../host/ledger/ledger';
import { recordPdf } from '../../host/report/record';
import { recordJson } from '../../host/report/record-json';
import { recordView, type RecordView } from '../../host/views/record-view';
import { sealView } from '../../host/views/seal-view';

const READINGS = 200;
const RUNS = 9;

const folder = mkdtempSync(join(tmpdir(), 'swathplane-bench-'));
try {
  const demo = ['build/host/swathplane.js', 'demo', '--use', 'warranty', '--machine', 'thrushmoor-248'];
  execFileSync(process.execPath, [...demo, '--folder', folder], { stdio: 'ignore' });
  const ledger = openLedgerForReading(join(folder, 'demo.swathplane-log'));
  const { job = 1 } = ledger.jobs()[0] ?? {};
  const events = ledger.events(job);
  const seal = ledger.seal(events.at(-1)?.sequence);
  ledger.close();
  if (seal === undefined) throw new Error('no seal');
  const times = { compute: [] as number[], draw: [] as number[], json: [] as number[] };
  const timed = async <T>(list: number[], work: () => T | Promise<T>): Promise<T> => {
    const began = performance.now();
    const done = await work();
    list.push(performance.now() - began);
    return done;
  };
  let said = '';
  for (let run = 0; run < RUNS; run += 1) {
    const computed = await timed(times.compute, () => recordView(events, sealView(seal)));
    if (computed === undefined) throw new Error('no record');
    const full = withReadings(computed);
    const pdf = await timed(times.draw, () => recordPdf(full));
    await timed(times.json, () => JSON.stringify(recordJson(full)));
    said = `full record: ${full.readings.length} readings (${computed.readings.length} of the job), PDF of ${pdf.length} bytes`;
  }
  console.log(said);
  for (const [what, [first = NaN, ...list]] of Object.entries(times))
    console.log(
      `  ${what.padEnd(8)} median ${median(list).toFixed(0).padStart(5)} ms, first ${first.toFixed(0).padStart(5)} ms`,
    );
} finally {
  rmSync(folder, { recursive: true, force: true });
}

function withReadings(view: RecordView): RecordView {
  const readings = [...view.readings];
  while (readings.length < READINGS) {
    const like = view.readings[readings.length % view.readings.length];
    if (like !== undefined) readings.push({ ...like, number: readings.length + 1 });
  }
  return { ...view, readings };
}

function median(list: readonly number[]): number {
  return [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)] ?? NaN;
}
