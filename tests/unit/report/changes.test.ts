/** Every number and word on the sheet is the view's: change one and the text changes; none is rounded across a limit. */
import PDFDocument from 'pdfkit';
import { needsEmbeddedType, printable } from '../../../host/report/printable';
import { describe, expect, it } from 'vitest';
import type { FaultRow } from '../../../host/views/fault-view';
import type { SheetView } from '../../../host/views/sheet-view';
import { inventedView } from './invented-view';
import { textsOf, withLastMeasure } from './sheet-texts';

const BENT: FaultRow = {
  parts: 'left blade bent',
  size: 'end A 6.1 ± 0.8 mm above end B, limit 3.0 mm (bend left)',
  probability: 0.97,
  beyondLimit: 1,
  status: 'beyond its limit',
  captures: [3, 4],
  tests: [],
  advice: ['replace the left blade'],
};

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
    'which assumed values': [
      (v) => ({
        ...v,
        stages: v.stages.map((s) => ({
          ...s,
          restsOnAssumedValues: true,
          restsOn: ['shafts and hub faces'],
        })),
      }),
      'Rests on assumed values (shafts and hub faces)',
    ],
    'a part at fault': [
      (v) => ({ ...v, stages: v.stages.map((s) => ({ ...s, faults: { ...s.faults, rows: [BENT] } })) }),
      'At fault: left blade bent. Sizes and what to do: full record.',
    ],
    'a measure that turning cannot mend': [
      (v) => ({ ...v, decision: 'fail', stages: v.stages.map((s) => ({ ...s, cannotMend: ['bend left'] })) }),
      'Turning cannot mend bend left',
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
  it('keep the letters of Europe, composed or not, and show what the type lacks', async () => {
    const technician = 'Zoe\u0308 Šťastná, Жук Ωλα 山 🙂';
    const texts = await textsOf({
      ...inventedView(),
      technicians: [technician],
      workOrder: 'A\nB\t\u0007',
    });
    const [first = '', last = ''] = [texts[0], texts.at(-1)];
    expect(first).toContain('Zoë Šťastná, Жук Ωλα ¿ ¿');
    expect(first).toContain('Work order A B ¿');
    for (const text of [first, last])
      expect(text).toContain('¿ stands for a character that this sheet’s type lacks');
    const [usual = ''] = await textsOf(inventedView());
    expect(usual).not.toContain('¿');
  });
});

describe('embedded type', () => {
  it.each(['DejaVuSansCondensed', 'DejaVuSansCondensed-Bold'])(
    '%s has every letter that it is to set',
    (name) => {
      const paper = new PDFDocument().font(`node_modules/dejavu-fonts-ttf/ttf/${name}.ttf`) as unknown as {
        _font: { font: { hasGlyphForCodePoint(code: number): boolean } };
      };
      const letters = Array.from({ length: 0x2000 }, (_, code) => String.fromCharCode(code)).filter(
        (c) => needsEmbeddedType(c) && printable(c) === c,
      );
      expect(letters.length).toBeGreaterThan(1000);
      const without = letters.filter((c) => !paper._font.font.hasGlyphForCodePoint(c.charCodeAt(0)));
      expect(without).toEqual([]);
    },
  );
});
