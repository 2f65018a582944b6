import { emitKeypressEvents } from 'node:readline';
import type { Keys } from '../terminal/hands';

/** The keyboard of this terminal, key by key. Control-C counts as escape. `close` gives the terminal back. */
export function openKeyboard(): Keys & { close(): void } {
  const { stdin } = process;
  const waiting: ((key: string) => void)[] = [];
  const typed: string[] = [];
  const onKey = (text: string | undefined, key: { name?: string; ctrl?: boolean }) => {
    const name = key.ctrl === true && key.name === 'c' ? 'escape' : (key.name ?? text ?? '');
    const taker = waiting.shift();
    if (taker === undefined) typed.push(name);
    else taker(name);
  };
  emitKeypressEvents(stdin);
  if (stdin.isTTY) stdin.setRawMode(true);
  stdin.on('keypress', onKey);
  // A closed input, as when the terminal goes away, is a technician who left.
  stdin.on('end', () => onKey(undefined, { name: 'escape' }));
  stdin.resume();

  const next = (signal?: AbortSignal) =>
    new Promise<string>((resolve, reject) => {
      const early = typed.shift();
      if (early !== undefined) return resolve(early);
      const take = (key: string) => {
        signal?.removeEventListener('abort', giveUp);
        resolve(key);
      };
      const giveUp = () => {
        waiting.splice(waiting.indexOf(take), 1);
        reject(new Error('no longer needed'));
      };
      signal?.addEventListener('abort', giveUp);
      waiting.push(take);
    });

  return {
    next,
    line: async (first) => {
      let text = first;
      process.stdout.write(`    ${text}`);
      for (;;) {
        const key = await next();
        if (key === 'return' || key === 'escape') break;
        if (key === 'backspace') text = text.slice(0, -1);
        else if (/^[0-9.,-]$/.test(key)) text += key;
        process.stdout.write(`\r\x1b[K    ${text}`);
      }
      process.stdout.write('\n');
      return text;
    },
    close: () => {
      stdin.off('keypress', onKey);
      if (stdin.isTTY) stdin.setRawMode(false);
      stdin.pause();
    },
  };
}
