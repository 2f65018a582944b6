/** The command line in a real terminal, fixtures on real ttys that lie on their height masters all the time, and a person who types. */
import { spawn, type IPty } from '@lydell/node-pty';
import { join } from 'node:path';
import { EXAMPLE_BODY } from '../../host/simulation/body';
import { createSimulatedFixture } from '../../host/simulation/fixture';
import type { World } from '../../host/simulation/world';
import { AT_REST } from '../faults/link/rig';
import { openPseudoTerminal } from './pseudo-terminal';

const root = join(import.meta.dirname, '../..');

/** A fixture with the real firmware on a tty of its own; with `memory` it is not from the factory. */
export async function fixtureOnTty(
  fixtureId: string,
  world: World = { sceneAt: () => AT_REST },
  memory?: Uint8Array,
): Promise<{ readonly path: string; stop(): void }> {
  const unit = { world, body: EXAMPLE_BODY, seed: 1, fixtureId };
  const fixture = await createSimulatedFixture({ ...unit, ...(memory === undefined ? {} : { memory }) });
  const port = await fixture.openPort();
  const tty = openPseudoTerminal((bytes) => port.write(Buffer.from(bytes)));
  port.on('data', (chunk: Buffer) => tty.write([...chunk]));
  const pump = setInterval(() => fixture.advance(50_000), 5);
  return {
    path: tty.path,
    stop: () => {
      clearInterval(pump);
      tty.hangUp();
      port.close(() => fixture.close());
    },
  };
}

/** What a person presses for each question, found by its words. */
export type Answers = readonly (readonly [RegExp, string])[];

export const ANSWERS: Answers = [
  [/return: read and confirmed/, '\r'],
  [/Straightedge[^]*type the number/, '0\r'],
  [/type the number/, '70\r'],
  [/y or return: yes/, 'y'],
  [/c or return: it carries/, 'c'],
  [/u: it is right/, 'u'],
  [/space, or the fixture's button/, ' '],
  [/return: done/, '\r'],
  // The tool sees that this deck never moves, whatever is turned, and asks.
  [/return: it was done as asked/, '\r'],
  [/return: refitted/, '\r'],
  [/return: pushed and pulled/, 'n'],
  [/return: replaced/, 'n'],
  [/return: every line holds here too/, '\r'],
  [/return: level it now/, 'n'],
];

export interface Talk {
  readonly code: number;
  readonly text: string;
  /** The questions as they were put, with what was pressed. */
  readonly asked: readonly { readonly question: string; readonly pressed: string }[];
}

/** A question of a job or session can be left; the one for the next machine of a batch is answered by nothing. */
const QUESTION = /\[escape: leave (?:the job|it) open\]|\[return alone: the batch is done\]/;

/**
 * Runs a command in a terminal and answers until it ends or `leaveAfter` questions were answered. `doAsAsked` is what the
 * person's hands do before a key is pressed.
 */
export function talk(
  args: readonly string[],
  answers: Answers = ANSWERS,
  leaveAfter = Infinity,
  doAsAsked: (question: string) => void = () => {},
): Promise<Talk> {
  const terminal: IPty = spawn(process.execPath, [join(root, 'build/host/swathplane.js'), ...args], {
    cols: 200,
    rows: 50,
    cwd: root,
  });
  let text = '';
  let seen = 0;
  const asked: { question: string; pressed: string }[] = [];
  const left = [...answers];
  terminal.onData((data) => {
    text += data;
    for (;;) {
      const found = QUESTION.exec(text.slice(seen));
      if (found === null) return;
      const end = seen + found.index + found[0].length;
      const question = text.slice(seen, end);
      seen = end;
      doAsAsked(question);
      const at = left.findIndex(([words]) => words.test(question));
      const pressed = asked.length >= leaveAfter || at < 0 ? '\x1b' : (left[at]?.[1] ?? '');
      // An answer that is meant once stands before those that are meant always.
      if (at >= 0 && left[at]?.[0].sticky === true) left.splice(at, 1);
      asked.push({ question, pressed });
      terminal.write(pressed);
    }
  });
  return new Promise((resolve) =>
    terminal.onExit(({ exitCode }) => resolve({ code: exitCode, text, asked })),
  );
}
