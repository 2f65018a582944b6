import { emitKeypressEvents } from 'node:readline';
import type { Keys } from '../terminal/hands';

interface Key {
  readonly name: string;
  /** What it types; empty for keys that type nothing. */
  readonly character: string;
}

/** The keyboard of this terminal, key by key. Control-C counts as escape. `close` gives the terminal back. */
export function openKeyboard(): Keys & { close(): void } {
  const { stdin } = process;
  const waiting: ((key: Key) => void)[] = [];
  const typed: Key[] = [];
  const onKey = (text: string | undefined, key: { name?: string; ctrl?: boolean }) => {
    const name = key.ctrl === true && key.name === 'c' ? 'escape' : (key.name ?? text ?? '');
    const pressed = { name, character: text !== undefined && /^[^\p{C}]+$/u.test(text) ? text : '' };
    const taker = waiting.shift();
    if (taker === undefined) typed.push(pressed);
    else taker(pressed);
  };
  emitKeypressEvents(stdin);
  if (stdin.isTTY) stdin.setRawMode(true);
  stdin.on('keypress', onKey);
  // A closed input, as when the terminal goes away, is a technician who left.
  stdin.on('end', () => onKey(undefined, { name: 'escape' }));
  stdin.resume();

  const nextKey = (signal?: AbortSignal) =>
    new Promise<Key>((resolve, reject) => {
      const early = typed.shift();
      if (early !== undefined) return resolve(early);
      const take = (key: Key) => {
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
    next: async (signal) => (await nextKey(signal)).name,
    line: async (first) => {
      let text = first;
      process.stdout.write(`    ${text}`);
      for (;;) {
        const { name, character } = await nextKey();
        if (name === 'return' || name === 'escape') {
          process.stdout.write('\n');
          return name === 'return' ? text : undefined;
        }
        if (name === 'backspace') text = text.slice(0, -1);
        else text += character;
        process.stdout.write(`\r\x1b[K    ${text}`);
      }
    },
    close: () => {
      stdin.off('keypress', onKey);
      if (stdin.isTTY) stdin.setRawMode(false);
      stdin.pause();
    },
  };
}
