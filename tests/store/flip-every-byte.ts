/** Every byte of one exported job, shared out to two processes. Prints what was found. */
import { fork } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { exportedDemo, flipBytes, flipText, type Flips, type Share } from './flips';

const WORKERS = 2;
const WORKER = '--worker';

interface Work {
  readonly bytes: Buffer;
  readonly share: Share;
}

/** One share, as the parent process hands it over. */
function serve(): void {
  process.once('message', ({ bytes, share }: Work) => {
    process.send?.(flipBytes(Buffer.from(bytes), share), () => process.disconnect());
  });
}

function inAnotherProcess(work: Work): Promise<Flips> {
  const worker = fork(fileURLToPath(import.meta.url), [WORKER], { serialization: 'advanced' });
  worker.send(work);
  return new Promise((resolve, reject) => {
    worker.once('message', (flips) => resolve(flips as Flips));
    worker.once('exit', (code) => reject(new Error(`a worker ended with ${code ?? 'a signal'}`)));
  });
}

if (process.argv.includes(WORKER)) serve();
else {
  const bytes = exportedDemo();
  const shares = await Promise.all(
    Array.from({ length: WORKERS }, (_, first) =>
      inAnotherProcess({ bytes, share: { first, every: WORKERS } }),
    ),
  );
  const sum = (of: (flips: Flips) => number) => shares.reduce((total, flips) => total + of(flips), 0);
  const all: Flips = {
    tried: sum((f) => f.tried),
    byForm: sum((f) => f.byForm),
    byEvents: sum((f) => f.byEvents),
    bySeal: sum((f) => f.bySeal),
    missed: shares.flatMap((f) => f.missed).sort((a, b) => a - b),
  };
  console.log(flipText(bytes.length, all).join('\n'));
}
