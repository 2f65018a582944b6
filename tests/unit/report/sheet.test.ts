/** The sheet is read back from its bytes; what it must say comes from the view and from job.md's words. */
import { afterEach, describe, expect, it, vi } from 'vitest';
import { sheetPdf } from '../../../host/report/sheet';
import type { SheetView } from '../../../host/views/sheet-view';
import type { MeasureRow } from '../../../host/views/stage-view';
import { inventedView, MACHINES } from './invented-view';
import { rawText, readPages, textOf, utf16, type PageContent, type TextRun } from './read-pdf';

const A4 = { width: 595.28, height: 841.89 };
const SIMULATED = 'SIMULATED SHOP – invented machine, no real measurement';
const NOT_FINAL = 'JOB NOT CLOSED: NOT A FINAL SHEET';

async function pagesOf(view: SheetView): Promise<PageContent[]> {
  return readPages(await sheetPdf(view));
}

async function textsOf(view: SheetView): Promise<string[]> {
  return (await pagesOf(view)).map(textOf);
}

/** The view with something changed in the measures of its last stage. */
function withLastMeasure(view: SheetView, index: number, change: Partial<MeasureRow>): SheetView {
  const last = view.stages.at(-1);
  if (last === undefined) throw new Error('no stage');
  const measures = last.measures.map((m, i) => (i === index ? { ...m, ...change } : m));
  return { ...view, stages: [...view.stages.slice(0, -1), { ...last, measures }] };
}

function open(view: SheetView): SheetView {
  return { ...view, decision: undefined, closedAt: undefined };
}

describe('the same view', () => {
  afterEach(() => {
    vi.useRealTimers();
  });

  it('gives the same bytes at any time of day', async () => {
    const first = await sheetPdf(inventedView());
    vi.useFakeTimers({ now: new Date('2044-07-01T00:00:00Z'), toFake: ['Date'] });
    expect(Buffer.from(await sheetPdf(inventedView())).equals(first)).toBe(true);
  });

  it('gives an id of its own to each record, and dates from the job', async () => {
    const view = inventedView();
    const id = (bytes: Uint8Array) => /\/ID \[<([0-9a-f]{32})> <\1>\]/.exec(rawText(bytes))?.[1];
    const one = await sheetPdf(view);
    const other = await sheetPdf({ ...view, head: { ...view.head, hash: view.head.hash.replace('5', '6') } });
    expect(id(one)).toBeDefined();
    expect(id(other)).toBeDefined();
    expect(id(one)).not.toBe(id(other));
    expect(rawText(one).match(/D:20\d{12}Z/g)).toEqual(['D:20310304083155Z', 'D:20310304083155Z']);
  });
});

describe('every machine', () => {
  for (const [count, profile] of Object.entries(MACHINES)) {
    it(`of ${count} spindle(s) gets a sheet that says all, tagged, and keeps inside the page`, async () => {
      const view = inventedView(profile);
      const bytes = await sheetPdf(view);
      const pages = readPages(bytes);
      const [first = '', ...rest] = pages.map(textOf);
      for (const said of expectedOnFirstPage(view)) expect(first).toContain(said);
      for (const item of view.prepared) expect(rest.join(' ')).toContain(`${item.text}: ${item.answer}`);
      for (const tip of view.stages.at(-1)?.tips ?? []) {
        expect(rest.join(' ')).toContain(`${tip.heightMm.toFixed(1)} ± 0.7 mm`);
      }
      expectTagged(bytes, pages);
      expectClean(pages);
    });
  }
});

/** Written out from the view by hand, not through the functions that the sheet uses. */
function expectedOnFirstPage(view: SheetView): string[] {
  const level = { came: '6.3 ± 0.6 mm', leaves: '–0.3 ± 0.6 mm' };
  const { cutHeightMm } = view.profile;
  return [
    SIMULATED,
    `${view.profile.model} (invented machine)`,
    'TEST-000317',
    'WO-2291',
    'Ida Müller-Åsgård',
    'job 41',
    'Opened 2031-03-04 08:12 UTC',
    'Closed 2031-03-04 08:31 UTC',
    'Result pass',
    'at least 98.7 %',
    `level ${level.came} outside ${level.leaves} inside –3 to 3 mm, shop limit`,
    'rake –0.8 ± 0.7 mm outside 4.9 ± 0.7 mm inside 2 to 8 mm, shop limit',
    `cut height ${(cutHeightMm + 3.4).toFixed(1)} ± 0.9 mm outside ${(cutHeightMm + 0.2).toFixed(1)} ± 0.9 mm inside`,
    'Fixture SW-0007, firmware 0.1.0 calibration head low 3, head high 2',
    'opening +0.02, –0.03 mm',
    'closing +0.05, –0.01 mm',
    'Readings: 38 taken, 1 set aside',
    `Preparation: ${view.prepared.length} items, 0 open, 0 answered no`,
    '= 2 turns and 3 flats',
    '= 1 turn and 1 flat',
    'Tightened, and confirmed by a fresh set of readings after it.',
    'Rule: Pass when all limits are kept',
    view.head.hash,
    'Record 5f1c0b9e77aa: entry 164 of log bay-2',
    'swathplane records --verify',
    "The maker's manual, local rules and licensed practice come first",
    'left as seated',
    'right as seated',
    'front',
    'rear',
    'size of the wheels not to scale',
    `cut height wanted, ${cutHeightMm} mm`,
  ];
}

function expectTagged(bytes: Uint8Array, pages: readonly PageContent[]): void {
  const raw = rawText(bytes);
  for (const key of [
    '/Marked true',
    '/Lang (en-GB)',
    '/StructTreeRoot',
    '/DisplayDocTitle true',
    '/S /Figure',
    '/S /Table',
    '/S /H1',
    utf16('Deck from above, front up.'),
  ]) {
    expect(raw.includes(key), key).toBe(true);
  }
  expect(pages.flatMap((p) => p.runs).filter((r) => r.marked === 'not')).toEqual([]);
}

/** Nothing beyond the page, no type below 7.5 pt, no text on another. */
function expectClean(pages: readonly PageContent[]): void {
  for (const page of pages) {
    const level = page.runs.filter((r) => !r.turned);
    for (const run of level) {
      expect(run.size, run.text).toBeGreaterThanOrEqual(7.5);
      expect(run.x, run.text).toBeGreaterThanOrEqual(20);
      expect(run.x + run.width, run.text).toBeLessThanOrEqual(A4.width - 20);
      expect(run.y, run.text).toBeGreaterThanOrEqual(20);
      expect(run.y + run.size, run.text).toBeLessThanOrEqual(A4.height - 15);
    }
    expect(overlapping(level)).toEqual([]);
    for (const [x, y] of page.paths.flatMap((p) => p.points)) {
      expect(x).toBeGreaterThanOrEqual(15);
      expect(x).toBeLessThanOrEqual(A4.width - 15);
      expect(y).toBeGreaterThanOrEqual(15);
      expect(y).toBeLessThanOrEqual(A4.height - 15);
    }
  }
}

function overlapping(runs: readonly TextRun[]): string[] {
  const box = (r: TextRun) => ({
    left: r.x,
    right: r.x + r.width,
    bottom: r.y - 0.1 * r.size,
    top: r.y + 0.7 * r.size,
  });
  return runs.flatMap((a, i) =>
    runs.slice(i + 1).flatMap((b) => {
      const [p, q] = [box(a), box(b)];
      const apart = p.right <= q.left || q.right <= p.left || p.top <= q.bottom || q.top <= p.bottom;
      return apart ? [] : [`${a.text} / ${b.text}`];
    }),
  );
}

describe('a changed view changes the text', () => {
  const changes: Record<string, [(v: SheetView) => SheetView, string]> = {
    'value of a measure': [(v) => withLastMeasure(v, 1, { valueMm: 5.7 }), '5.7 ± 0.7 mm'],
    'uncertainty of a measure': [(v) => withLastMeasure(v, 1, { expandedMm: 1.9 }), '4.9 ± 1.9 mm'],
    'verdict of a measure': [
      (v) => withLastMeasure(v, 1, { verdict: 'cannot tell yet' }),
      '4.9 ± 0.7 mm cannot tell yet',
    ],
    'a measure that was not read': [
      (v) => withLastMeasure(v, 3, { valueMm: NaN, expandedMm: NaN, verdict: 'not measured' }),
      'not measured',
    ],
    'a limit': [(v) => withLastMeasure(v, 1, { upperMm: 7.25 }), '2 to 7.25 mm'],
    'source of a limit': [
      (v) => withLastMeasure(v, 1, { limitSource: 'invented manual' }),
      '2 to 8 mm, invented manual',
    ],
    'height of a tip': [(v) => withTip(v, { heightMm: 81.37 }), '81.4'],
    'uncertainty of a tip': [(v) => withTip(v, { expandedMm: 1.34 }), '±1.3'],
    probability: [
      (v) => ({ ...v, stages: v.stages.map((s) => ({ ...s, jointProbability: 0.9934 })) }),
      'at least 99.3 %',
    ],
    'assumed values': [
      (v) => ({ ...v, stages: v.stages.map((s) => ({ ...s, restsOnAssumedValues: true })) }),
      'Rests on assumed values',
    ],
    'a cap': [
      (v) => ({ ...v, decision: 'undecided', caps: ['fixture SW-0007 is off on its height master'] }),
      'Kept from being a pass by: fixture SW-0007 is off',
    ],
    fail: [(v) => ({ ...v, decision: 'fail' }), 'Result fail'],
    undecided: [(v) => ({ ...v, decision: 'undecided' }), "Result can't tell yet"],
    turns: [(v) => withTurn(v, -4 / 6), 'front left: lower 1.2 mm = 4 flats'],
    'an opening reading': [
      (v) => ({ ...v, fixtures: v.fixtures.map((f) => ({ ...f, openingErrorsMm: [0.277, -0.004] })) }),
      'opening +0.28, 0.00 mm',
    ],
    'no closing reading': [
      (v) => ({ ...v, fixtures: v.fixtures.map((f) => ({ ...f, closingErrorsMm: [] })) }),
      'closing none',
    ],
    'an open preparation item': [
      (v) => ({ ...v, prepared: v.prepared.map((p, i) => (i === 2 ? { ...p, answer: 'open' } : p)) }),
      '1 open',
    ],
    readings: [(v) => ({ ...v, readings: v.readings.slice(0, 21) }), 'Readings: 21 taken, 1 set aside'],
    'hash of the record': [
      (v) => ({ ...v, head: { writer: 'bay-9', sequence: 8, hash: 'c0ffee'.padEnd(64, '1') } }),
      'Record c0ffee111111: entry 8 of log bay-9',
    ],
    'not tightened': [
      (v) => ({ ...v, tightened: false, stages: v.stages.slice(0, 2) }),
      'No tightening is on the record.',
    ],
    'a cut height': [
      (v) => ({ ...v, profile: { ...v.profile, cutHeightMm: 68.5 } }),
      'cut height wanted, 68.5 mm',
    ],
  };

  for (const [what, [change, said]] of Object.entries(changes)) {
    it(what, async () => {
      const [before = ''] = await textsOf(inventedView());
      const [after = ''] = await textsOf(change(inventedView()));
      expect(before).not.toContain(said);
      expect(after).toContain(said);
    });
  }

  function withTip(view: SheetView, change: { heightMm?: number; expandedMm?: number }): SheetView {
    return {
      ...view,
      stages: view.stages.map((s) => ({
        ...s,
        tips: s.tips.map((t, i) => (i === 0 ? { ...t, ...change } : t)),
      })),
    };
  }

  function withTurn(view: SheetView, turns: number): SheetView {
    return {
      ...view,
      stages: view.stages.map((s) => ({
        ...s,
        turned: s.turned.map((t, i) => (i === 0 ? { ...t, turns } : t)),
      })),
    };
  }
});

describe('marks', () => {
  const view = inventedView();
  const views = { closed: view, open: open(view), 'without a stage': { ...open(view), stages: [] } };

  for (const [name, marked] of Object.entries(views)) {
    it(`a simulated job, ${name}, says so on every page and in its title`, async () => {
      for (const text of await textsOf(marked)) expect(text).toContain(SIMULATED);
      expect(rawText(await sheetPdf(marked)).includes(utf16(SIMULATED))).toBe(true);
    });
  }

  it('a real job on an invented machine says invented, a real machine says neither', async () => {
    const real = { ...view, simulated: false };
    for (const text of await textsOf(real)) {
      expect(text).toContain('INVENTED MACHINE');
      expect(text).not.toContain('SIMULATED');
    }
    for (const text of await textsOf({ ...real, profile: { ...view.profile, invented: false } })) {
      expect(text).not.toMatch(/invented|simulated/i);
    }
  });

  it('an open job is marked on every page, overprinted, and shows no result word', async () => {
    const pages = await pagesOf(open(view));
    for (const text of pages.map(textOf)) expect(text).toContain(NOT_FINAL);
    expect(pages[0]?.runs.filter((r) => r.turned && r.marked === 'artifact').map((r) => r.text)).toEqual([
      'NOT A FINAL SHEET',
    ]);
    expect(pages[0]?.runs.filter((r) => r.size > 20 && !r.turned).map((r) => r.text)).toEqual([
      'result not final',
    ]);
    for (const text of await textsOf(view)) expect(text).not.toContain(NOT_FINAL);
  });
});

describe('limits', () => {
  // 8 is the upper limit of rake: a value beyond it must not be printed as 8.0, nor one within it as beyond.
  it.each([
    [8.04, 'outside', '8.04 ± 0.7 mm'],
    [8.0004, 'outside', '8.0004 ± 0.7 mm'],
    [7.96, 'inside', '8.0 ± 0.7 mm'],
    [1.96, 'outside', '1.96 ± 0.7 mm'],
  ] as const)('%f mm, %s, is printed as %s', async (valueMm, verdict, said) => {
    const [first = ''] = await textsOf(withLastMeasure(inventedView(), 1, { valueMm, verdict }));
    expect(first).toContain(`${said} ${verdict}`);
  });
});

describe('probability', () => {
  // The rule asks for 98 %: what falls short of it must not be printed as 98.0 %.
  it.each([
    [0.97999, 'at least 97.9 %'],
    [0.98, 'at least 98.0 %'],
    [0.9996, 'more than 99.9 %'],
    [1, 'at least 100.0 %'],
    [0, 'at least 0.0 %'],
  ])('%f is printed as %s', async (jointProbability, said) => {
    const view = inventedView();
    const [first = ''] = await textsOf({
      ...view,
      stages: view.stages.map((s) => ({ ...s, jointProbability })),
    });
    expect(first).toContain(`with a probability of ${said}.`);
  });
});

describe('names', () => {
  it('keep umlauts and accents, composed or not, and show what the type lacks', async () => {
    const technician = 'Zoe\u0308 Šťastná, Łukasz 山田 🙂';
    const [first = '', second = ''] = await textsOf({
      ...inventedView(),
      technician,
      workOrder: 'A\nB\t\u0007',
    });
    expect(first).toContain('Zoë Š¿astná, ¿ukasz ¿¿ ¿');
    expect(first).toContain('Work order A B ¿');
    for (const text of [first, second])
      expect(text).toContain('¿ stands for a character that this sheet’s type lacks');
    const [usual = ''] = await textsOf(inventedView());
    expect(usual).not.toContain('¿');
  });
});

describe('extreme views', () => {
  const view = inventedView();
  const long = `Überlang ${'abcdefghij'.repeat(40)} end`;

  it('cut what does not fit, print it in full at the end, and stay clean', async () => {
    const pages = await pagesOf({
      ...view,
      decision: 'undecided',
      serialNumber: long,
      workOrder: `${long} 2`,
      technician: `${long} 3`,
      profile: { ...view.profile, model: 'W'.repeat(60) },
      caps: Array.from({ length: 30 }, (_, i) => `cap number ${i}`),
      prepared: Array.from({ length: 80 }, (_, i) => ({
        text: `${i} `.padEnd(300, 'lorem '),
        answer: 'open',
      })),
      fixtures: Array.from({ length: 9 }, (_, i) => ({
        ...view.fixtures[0],
        fixtureId: `SW-90${i}`,
      })),
      stages: [...Array.from({ length: 5 }, () => view.stages[0]), view.stages.at(-1)].flatMap(
        (s) => s ?? [],
      ),
      rule: 'a rule '.repeat(60),
    });
    expectClean(pages);
    const all = pages.slice(1).map(textOf).join(' ').replaceAll(' ', '');
    for (const full of [
      long,
      `${long} 2`,
      `${long} 3`,
      'W'.repeat(60),
      'cap number 29',
      'SW-908',
      'round 5, rear right',
    ]) {
      expect(all).toContain(full.replaceAll(' ', ''));
    }
  });

  it('many measures go on to the next page', async () => {
    const measures = Array.from({ length: 95 }, (_, i): MeasureRow => ({
      ...view.stages[0]?.measures[0],
      name: `measure ${i} with a name of some length and more`,
      valueMm: i - 1234.5,
      limitSource: long.slice(0, 60),
    }));
    const pages = await pagesOf({ ...view, stages: view.stages.map((s) => ({ ...s, measures })) });
    expectClean(pages);
    expect(textOf(pages[0])).toContain('85 more measures on page 2');
    expect(pages.map(textOf).join(' ')).toContain('–1140.5');
  });

  it('wild numbers stay on the page', async () => {
    const wild = view.stages.map((s) => ({
      ...s,
      plane: { z0Mm: 900, slopeX: -0.9, slopeY: 0.5 },
      tips: s.tips.map((t, i) => ({ ...t, heightMm: 1e4 * (i - 2), expandedMm: 3e3 })),
      measures: s.measures.map((m) => ({
        ...m,
        valueMm: -98765.4,
        expandedMm: 4321,
        lowerMm: -1e4,
        upperMm: -1e4,
      })),
    }));
    expectClean(await pagesOf({ ...view, stages: wild }));
    expectClean(await pagesOf({ ...view, stages: wild.map((s) => ({ ...s, plane: undefined, tips: [] })) }));
  });

  it('nothing read yet', async () => {
    const pages = await pagesOf({
      ...open(view),
      stages: [],
      fixtures: [],
      readings: [],
      prepared: [],
      tightened: false,
    });
    expectClean(pages);
    expect(textOf(pages[0])).toContain('No complete set of readings yet.');
    expect(textOf(pages[0])).toContain('Nothing was turned.');
  });
});

describe('drawings', () => {
  it('the map is to scale, front up, left on the left', async () => {
    for (const profile of Object.values(MACHINES)) {
      const [page] = await pagesOf(inventedView(profile));
      // Wheels are the only upright rectangles of 110 by 260; the profile's order is the order of drawing.
      const wheels =
        page?.paths.flatMap((p) =>
          p.rectangle !== undefined && Math.abs(p.rectangle[3] / p.rectangle[2] - 260 / 110) < 1e-4
            ? [p.rectangle]
            : [],
        ) ?? [];
      expect(wheels).toHaveLength(profile.wheels.length);
      const [first, ...others] = profile.wheels.map((w, i) => ({
        ...w,
        left: wheels[i]?.[0] ?? NaN,
        top: wheels[i]?.[1] ?? NaN,
      }));
      const ptPerMm = (wheels[0]?.[2] ?? NaN) / 110;
      for (const wheel of others) {
        expect(wheel.left - (first?.left ?? NaN)).toBeCloseTo(((first?.yMm ?? NaN) - wheel.yMm) * ptPerMm, 3);
        expect(wheel.top - (first?.top ?? NaN)).toBeCloseTo(((first?.xMm ?? NaN) - wheel.xMm) * ptPerMm, 3);
      }
    }
  });

  it('the side view slopes as many times more as it says, front on the left', async () => {
    const view = inventedView();
    const [page] = await pagesOf(view);
    const factor = Number(/Heights drawn (\d+) ×/.exec(textOf(page))?.[1]);
    const plane = page?.paths.find((p) => p.lineWidth === 1.6);
    const [front = [NaN, NaN], rear = [NaN, NaN]] = plane?.points ?? [];
    const rise = front[1] - rear[1];
    // Page y runs downward; dz/dx is negative with the front lower, and the front is drawn on the left.
    expect(rise / (rear[0] - front[0])).toBeCloseTo(-(view.stages.at(-1)?.plane?.slopeX ?? NaN) * factor, 4);
    expect(front[0]).toBeLessThan(rear[0]);
  });

  it('a tip above the mean has its bar up and black, one below has it down and white', async () => {
    const view = inventedView();
    const [page] = await pagesOf(view);
    const frames =
      page?.paths.flatMap((p, i) => {
        const bar = page.paths[i + 1]?.rectangle;
        return p.rectangle !== undefined && p.rectangle[2] === 6 && p.rectangle[3] === 18 && bar !== undefined
          ? [{ frame: p.rectangle, bar }]
          : [];
      }) ?? [];
    const tips = view.stages.at(-1)?.tips ?? [];
    expect(frames).toHaveLength(tips.length);
    const mean = tips.reduce((sum, t) => sum + t.heightMm, 0) / tips.length;
    const most = Math.max(...tips.map((t) => Math.abs(t.heightMm - mean)));
    tips.forEach((tip, i) => {
      const { frame, bar } = frames[i] ?? { frame: [NaN, NaN, NaN, NaN], bar: [NaN, NaN, NaN, NaN] };
      const middle = frame[1] + 9;
      const length = (9 * (tip.heightMm - mean)) / Math.ceil(most);
      expect(bar[3]).toBeCloseTo(Math.abs(length), 4);
      expect(bar[1]).toBeCloseTo(length > 0 ? middle - length : middle, 4);
    });
  });
});
