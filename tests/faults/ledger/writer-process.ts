/** A process of its own that writes a log: `hold` opens it and waits, `write` appends until it is killed or refused. */
import { writeSync } from 'node:fs';
import { openLedger } from '../../../host/ledger/ledger';
import { NumberedError } from '../../../host/errors/errors';

const [, , mode, path = '', writer = ''] = process.argv;

try {
  const ledger = openLedger(path, { writer, now: () => new Date() });
  if (mode === 'hold') {
    writeSync(1, 'open\n');
    setInterval(() => undefined, 1000);
  } else {
    for (let i = 0; ; i += 1) {
      const { sequence, hash } = ledger.append({
        type: 'turned',
        job: 1,
        adjuster: 'rear left',
        turns: i / 7,
      });
      writeSync(1, `${sequence} ${hash}\n`);
    }
  }
} catch (error) {
  writeSync(1, error instanceof NumberedError ? `E${error.number}\n` : `${String(error)}\n`);
  process.exitCode = 1;
}
