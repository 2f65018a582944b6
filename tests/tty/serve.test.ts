/** `swathplane serve --port A B`: the page's server with two fixtures on real ttys, and a screen that answers over the network. */
import { spawn, type ChildProcess } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { openLedgerForReading } from '../../host/ledger/ledger';
import type { BayScreen, QuestionPart } from '../../host/views/bay-screen';
import { fixtureOnTty } from './bench';

let one: Awaited<ReturnType<typeof fixtureOnTty>>;
let two: typeof one;
let server: ChildProcess;
beforeAll(async () => {
  one = await fixtureOnTty('SIM-ONE');
  two = await fixtureOnTty('SIM-TWO');
});
afterAll(() => {
  server?.kill('SIGKILL');
  [one, two].forEach((fixture) => fixture.stop());
});

it('takes both, and a capture of each lands in the job', { timeout: 120_000 }, async () => {
  const log = join(mkdtempSync(join(tmpdir(), 'swathplane-')), 'bay.swathplane-log');
  const address = await serve('--port', one.path, two.path, '--log', log);
  const post = async (path: string, body: object) => {
    const headers = { 'Content-Type': 'application/json' };
    const reply = await fetch(`${address}${path}`, { method: 'POST', headers, body: JSON.stringify(body) });
    return { status: reply.status, body: await reply.text() };
  };
  const order = { use: 'inspection', model: 'Orrinshaw 106', serialNumber: 'INVENTED-2' };
  expect(await post('api/job/open', { ...order, workOrder: '', technician: '' })).toMatchObject({
    status: 200,
  });
  let answered = 0;
  for await (const { job, bay } of screens(address)) {
    const by = new Set(job?.readings.map((r) => r.fixtureId));
    if (by.size === 2) {
      expect(bay.fixtures).toEqual([
        { fixtureId: 'SIM-ONE', isHere: true },
        { fixtureId: 'SIM-TWO', isHere: true },
      ]);
      break;
    }
    const question = job?.question ?? null;
    if (question === null || question.busy !== null || question.n <= answered) continue;
    answered = question.n;
    const said = await post('api/job/answer', { question: question.n, said: usual(question) });
    expect(said, question.words.say).toMatchObject({ status: 200 });
  }
  await post('api/job/leave', {});
  const ended = new Promise((resolve) => server.once('exit', resolve));
  server.kill('SIGTERM');
  await ended;
  const ledger = openLedgerForReading(log);
  ledger.verify();
  const captured = ledger
    .events(1)
    .flatMap(({ event }) => (event.type === 'captured' ? [event.fixtureId] : []));
  expect(new Set(captured)).toEqual(new Set(['SIM-ONE', 'SIM-TWO']));
  expect(ledger.events(1)[0]?.event).toMatchObject({ type: 'job opened', simulated: false });
  ledger.close();
});

/** The usual answer, else the first one, else something typed; but a reading that stands out is upheld: all are alike. */
function usual({ asks, choices, typing }: QuestionPart): object {
  const main = choices.findIndex((c) => c.keys.includes(asks === 'check reading' ? 'u' : 'return'));
  if (choices.length > 0) return { way: Math.max(0, main) };
  return typing?.what === 'number' ? { number: 0 } : { text: 'invented' };
}

/** The command as a person starts it; gives the page's address. */
async function serve(...args: readonly string[]): Promise<string> {
  server = spawn(
    process.execPath,
    ['build/host/swathplane.js', 'serve', '--page-port', '0', '--json', ...args],
    { stdio: ['ignore', 'pipe', 'inherit'], cwd: join(import.meta.dirname, '../..') },
  );
  let text = '';
  server.stdout?.on('data', (chunk: Buffer) => (text += chunk.toString()));
  const said = () => {
    try {
      return (JSON.parse(text) as { addresses: string[] }).addresses[0];
    } catch {
      return undefined;
    }
  };
  await expect.poll(said).toBeDefined();
  return said() ?? '';
}

/** What a screen is shown, after every change (server-sent events, HTML standard section 9.2). */
async function* screens(address: string): AsyncGenerator<BayScreen> {
  const { body } = await fetch(`${address}api/stream`);
  if (body === null) throw new Error('no stream');
  const decoder = new TextDecoder();
  let text = '';
  let screen: Partial<BayScreen> = {};
  for await (const chunk of body) {
    text += decoder.decode(chunk, { stream: true });
    const events = text.split('\n\n');
    text = events.pop() ?? '';
    for (const event of events) {
      if (!event.startsWith('event: view')) continue;
      const data = /^data: (.*)$/m.exec(event)?.[1] ?? '{}';
      screen = { ...screen, ...(JSON.parse(data) as Partial<BayScreen>) };
      yield screen as BayScreen;
    }
  }
}
