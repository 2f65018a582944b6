/**
 * Power cuts at every byte that the image stores. The memory stores byte by byte and nothing after a cut, so what a cut
 * leaves is what lay there after so many bytes of one undisturbed run; each of these is given to the image anew.
 */
import { encodeFrame, createFrameReader } from '../../protocol/wire';
import type { Body, Message, MessageName } from '../../protocol/wire';
import { ORDER, until, workbench } from './workbench';
import type { Workbench } from './workbench';

/** What the memory held after one more byte, and what the host had been told by then. */
export interface Cut {
  readonly during: 'capture' | 'acknowledgement' | 'calibration';
  readonly content: Uint8Array;
  readonly told: Told;
}

interface Told {
  /** Numbers of captures that came to the host. */
  readonly announced: readonly number[];
  /** Those whose `acknowledge` was answered. */
  readonly acknowledged: readonly number[];
  /** Those whose `acknowledge` was sent: from then on the host has them on its disk. */
  readonly safe: readonly number[];
  /** Version of the calibration that was told to be in force, and of the one that was being written. */
  readonly calibration: number;
  readonly writing: number;
}

/** Two captures, the acknowledgement of both and a new calibration, on the image; a cut before and after every byte. */
export async function allCuts(): Promise<Cut[]> {
  const cuts: Cut[] = [];
  const announced: number[] = [];
  const acknowledged: number[] = [];
  const safe: number[] = [];
  let during: Cut['during'] = 'capture';
  let calibration = 1;
  let writing = 1;
  const bench = await workbench();
  const { fixture } = bench;
  const see = () => {
    const told = { announced: [...announced], acknowledged: [...acknowledged], safe: [...safe] };
    cuts.push({ during, content: fixture.memory.slice(), told: { ...told, calibration, writing } });
  };
  await bench.within(until(() => fixture.device !== undefined));
  const wire = await speaker(bench, (message) => {
    if (message.name === 'captured') announced.push(message.body.capture);
  });
  await wire('report-status', {});
  await wire('arm', { ...ORDER, liveHz: 0 });
  fixture.onStored(see);
  for (const number of [1, 2]) {
    await wire('capture', {});
    await bench.within(
      until(() => announced.includes(number)),
      9000,
    );
  }
  during = 'acknowledgement';
  for (const number of [1, 2]) {
    safe.push(number);
    await wire('acknowledge', { capture: number });
    acknowledged.push(number);
  }
  await wire('disarm', {});
  during = 'calibration';
  const old = (await wire('read-calibration', { headPosition: 0 })) as Body<'calibration'>;
  writing = old.version + 1;
  calibration = old.version;
  await wire('write-calibration', { ...old, setOnDay: NEW_DAY });
  calibration = writing;
  see();
  return cuts;
}

const NEW_DAY = 20001;

/** What is wrong after power comes back on what the cut left; empty: nothing. */
export async function whatIsWrongAfter({ content, told }: Cut): Promise<string[]> {
  const bench = await workbench({ memory: content.slice() });
  const received: Message[] = [];
  await bench.within(until(() => bench.fixture.device !== undefined));
  const wire = await speaker(bench, (message) => received.push(message));
  const wrong: string[] = [];
  const complain = (holds: boolean, what: string) => void (holds || wrong.push(what));

  await wire('resend', {});
  await bench.run(60);
  const kept = received.flatMap((m) => (m.name === 'captured' ? [m.body.capture] : []));
  const lost = told.announced.filter((n) => !kept.includes(n) && !told.safe.includes(n));
  complain(lost.length === 0, `announced and lost: ${lost.join(', ')}`);
  complain(new Set(kept).size === kept.length, `sent twice: ${kept.join(', ')}`);
  const back = kept.filter((n) => told.acknowledged.includes(n));
  complain(back.length === 0, `acknowledged and there again: ${back.join(', ')}`);
  const read = (await wire('read-calibration', { headPosition: 0 })) as Partial<Body<'calibration'>>;
  const isOld = read.version === told.writing - 1 && read.setOnDay !== NEW_DAY;
  const isNew = read.version === told.writing && read.setOnDay === NEW_DAY;
  complain(
    told.writing === 1 ? read.version === 1 : told.calibration === told.writing ? isNew : isOld || isNew,
    `calibration: ${JSON.stringify(read)}`,
  );
  const other = (await wire('read-calibration', { headPosition: 1 })) as Partial<Body<'calibration'>>;
  complain(other.version === 1, 'calibration of the other head position');
  const armed = (await wire('arm', { ...ORDER, liveHz: 0 })) as Partial<Body<'armed'>>;
  const highest = Math.max(0, ...told.announced, ...kept);
  complain((armed.nextCapture ?? 0) > highest, `next number ${armed.nextCapture} after ${highest}`);
  complain(bench.fixture.complaints.length === 0, bench.fixture.complaints.join('; '));
  return wrong;
}

type Ask = <N extends MessageName>(name: N, body: Body<N>) => Promise<unknown>;

/** Speaks with the fixture frame by frame: the real link would acknowledge by itself. Resolves with the reply's body. */
export async function speaker(bench: Workbench, onMessage: (message: Message) => void): Promise<Ask> {
  const reader = createFrameReader();
  const port = await bench.within(bench.fixture.openPort());
  const replies = new Map<number, unknown>();
  port.on('data', (data: Buffer) => {
    for (const got of reader.push([...data])) {
      if (got.kind !== 'message') continue;
      onMessage(got.message);
      if (got.message.name !== 'captured') replies.set(got.message.sequence, got.message.body);
    }
  });
  let sequence = 0;
  await bench.run(20);
  return async (name, body) => {
    const mine = (sequence += 1);
    port.write(Buffer.from([0, ...encodeFrame({ name, sequence: mine, body } as unknown as Message)]));
    await bench.within(until(() => replies.has(mine)));
    return replies.get(mine);
  };
}

/** Every cut, or a spread of so many over each kind. */
export function spread(cuts: readonly Cut[], count: number): Cut[] {
  return (['capture', 'acknowledgement', 'calibration'] as const).flatMap((during) => {
    const of = cuts.filter((cut) => cut.during === during);
    const step = Math.max(1, (of.length - 1) / Math.max(1, count - 1));
    return [
      ...new Set(Array.from({ length: count }, (_, i) => Math.min(of.length - 1, Math.round(i * step)))),
    ].map((i) => of[i]);
  });
}

/** For the proof: all cuts, and a cut of the running chip itself at some of them. */
export async function powerCutText(): Promise<string[]> {
  const cuts = await allCuts();
  const lines: string[] = [];
  let bad = 0;
  for (const during of ['capture', 'acknowledgement', 'calibration'] as const) {
    const of = cuts.filter((cut) => cut.during === during);
    let wrongHere = 0;
    for (const [i, cut] of of.entries()) {
      const wrong = await whatIsWrongAfter(cut);
      if (wrong.length === 0) continue;
      wrongHere += 1;
      lines.push(`  ${during}, after byte ${i}: ${wrong.join('; ')}`);
    }
    bad += wrongHere;
    lines.push(
      `${during}: ${of.length} bytes, power cut at each: ${wrongHere} with something lost, doubled or torn`,
    );
  }
  if (bad > 0) process.exitCode = 1;
  return lines;
}
