/** Jobs side by side: slopes against a certified fit, changes against hand-worked uncertainty, CSV against a parser of its own. */
import { describe, expect, it } from 'vitest';
import { historyText, trendChart, trendText } from '../../../host/views/history-pictures';
import { historyTable, historyView, slopeOf, type HistoryJob } from '../../../host/views/history-view';
import type { MeasureRow } from '../../../host/views/stage-view';
import { svgChart } from '../../../host/views/svg-chart';
import { tableCsv } from '../../../host/views/table';
import norris from '../../reference/data/02-strd-norris.json' with { type: 'json' };

const day = (n: number) => new Date(Date.UTC(2026, 0, 1 + n, 8)).toISOString();

function measure(name: string, valueMm: number, expandedMm: number): MeasureRow {
  return {
    name,
    valueMm,
    expandedMm,
    targetMm: 0,
    lowerMm: -3,
    upperMm: 3,
    limitSource: 'shop limit',
    probabilityInside: 0.5,
    verdict: 'inside',
  };
}

function job(n: number, cameMm: number, leftMm: number, more: Partial<HistoryJob> = {}): HistoryJob {
  return {
    writer: 'bay 1',
    job: n,
    at: day(30 * n),
    use: 'levelling',
    model: 'Orrinshaw 106',
    serialNumber: 'S-1',
    technicians: ['Ida'],
    simulated: false,
    decision: 'pass',
    came: [measure('level', cameMm, 0.6)],
    left: [measure('level', leftMm, 0.8)],
    openings: [{ fixtureId: 'SW-7', errorMm: n / 100 }],
    minutes: 20 + n,
    setAside: 1,
    readings: 22,
    rounds: 1,
    done: [`rear left: raise ${n} mm`],
    ...more,
  };
}

describe('a trend', () => {
  it('has the slope and standard uncertainty that NIST certifies for the Norris data', () => {
    const { x, y } = norris.data;
    const [, b1 = NaN] = norris.expected.b;
    const [, sdB1 = NaN] = norris.expected.sd_b;
    const slope = slopeOf(x.map((at, i) => [at, y[i] ?? NaN] as const));
    expect(slope?.perMonth).toBeCloseTo(b1, 10);
    expect(slope?.standardUncertainty).toBeCloseTo(sdB1, 12);
    expect(slope?.isMoreThanNoise).toBe(true);
  });

  it('is claimed only when it is more than the scatter, and not from two points or a single day', () => {
    const of = (values: readonly number[]) =>
      historyView(
        'serial number',
        'S-1',
        values.map((v, n) => job(n, v, 0)),
      ).trends[0]?.slope;
    expect(of([0, 1, 2, 3.1])?.isMoreThanNoise).toBe(true);
    expect(of([0, 2, -1, 1.2])?.isMoreThanNoise).toBe(false);
    expect(of([0, 1])).toBeUndefined();
    expect(
      slopeOf([
        [1, 0],
        [1, 1],
        [1, 2],
      ]),
    ).toBeUndefined();
  });

  it('of a fixture is its difference from its height master, of a technician time and rounds', () => {
    const jobs = [3, 1, 2].map((n) => job(n, 0, 0));
    const points = (view: ReturnType<typeof historyView>) =>
      view.trends.map((t) => t.series[0]?.points.map((p) => p.value));
    expect(points(historyView('fixture', 'sw-7', jobs))).toEqual([[0.01, 0.02, 0.03]]);
    expect(points(historyView('technician', 'Ida', jobs))).toEqual([
      [21, 22, 23],
      [1, 1, 1],
      [1, 1, 1],
    ]);
  });

  it('is drawn for the terminal with every job in its column, and for the page with every point', () => {
    const view = historyView('serial number', 'S-1', [job(1, -6, 0.5), job(2, 2, 2), job(3, 5, -0.5)]);
    const [trend] = view.trends;
    if (trend === undefined) throw new Error('no trend');
    const lines = trendText(trend);
    const columns = [0, 1, 2].map((c) =>
      lines
        .filter((l) => l.includes('|'))
        .map((l) => l.split('|')[1]?.[c] ?? ' ')
        .join('')
        .replace(/[ -]/g, ''),
    );
    expect(columns.map((c) => [...c].sort().join(''))).toEqual(['ox', '*', 'ox']);
    // Came low and left in the middle; came high.
    expect(columns[0]).toBe('xo');
    expect(columns[2]).toBe('ox');
    const chart = trendChart(trend);
    if (chart === undefined) throw new Error('no chart');
    expect(svgChart(chart).match(/<circle/g)).toHaveLength(6);
    expect(new Set(chart.series.map((s) => s.dash)).size).toBe(3);
    expect(historyText(view).join('\n')).toContain('trend, as it came:');
  });

  it.each([0, 4])('of one job alone, with %d of something, is drawn too', (value) => {
    const points = [{ at: '2026-03-02T08:00:00.000Z', writer: 'bay 1', job: 1, value }];
    const chart = trendChart({ name: 'rounds', unit: 'rounds', series: [{ name: 'rounds', points }] });
    if (chart === undefined) throw new Error('no chart');
    expect(chart.y.to).toBeGreaterThan(chart.y.from);
    expect(svgChart(chart)).not.toContain('NaN');
  });
});

describe('a machine that came again', () => {
  it('has changed where the difference is more than both uncertainties together', () => {
    // U of the difference: root of 0.8 and 0.6 squared, 1.0 (JCGM 100, 5.1.2, independent quantities).
    const view = historyView('serial number', 'S-1', [job(1, 5, 0.2), job(2, 1.1, 0), job(3, 1.2, 0)]);
    expect(view.changes.map((c) => c.measures)).toEqual([
      [
        expect.objectContaining({
          differenceMm: expect.closeTo(0.9, 12) as number,
          expandedMm: expect.closeTo(1, 12) as number,
          isMoreThanNoise: false,
        }),
      ],
      [expect.objectContaining({ differenceMm: expect.closeTo(1.2, 12) as number, isMoreThanNoise: true })],
    ]);
    const text = historyText(view).join('\n');
    expect(text).toContain('level: +0.90 ± 1.0 mm (0.2 to 1.1): no change that the readings can tell');
    expect(text).toContain('level: +1.20 ± 1.0 mm (0.0 to 1.2): has changed');
    expect(text).toContain('rear left: raise 2 mm');
  });

  it('is passed over where it was not read, and only machines are compared', () => {
    const unread = job(2, 0, 0, { came: [], left: [] });
    const view = historyView('serial number', 'S-1', [job(1, 0, 0), unread, job(3, 2, 0)]);
    expect(view.changes.map((c) => [c.from.job, c.to.job])).toEqual([[1, 3]]);
    expect(historyView('model', 'M', [job(1, 0, 0), job(2, 0, 0)]).changes).toEqual([]);
  });
});

describe('the table for a spreadsheet', () => {
  const wild = [
    '=1+1',
    '@SUM(A1)',
    '+49 30',
    '-2+3',
    '\tx',
    'a,b',
    'say "no"',
    'two\r\nlines',
    'Ünï',
    '-0.5',
    '+1e-3',
  ];

  it('reads back by RFC 4180 as what went in, formulas made harmless, numbers left alone', () => {
    const jobs = wild.map((serialNumber, n) => job(n, -0.25, 0.5, { serialNumber }));
    const table = historyTable(historyView('model', 'Orrinshaw 106', jobs));
    const [head, ...rows] = parseCsv(tableCsv(table));
    expect(head).toEqual(table.head);
    const at = (name: string) => table.head.indexOf(name);
    expect(rows.map((r) => r[at('serial number')])).toEqual(
      wild.map((t) => (/^[=@\t]|^[+-](?![\d.]+(e-?\d+)?$)/.test(t) ? `'${t}` : t)),
    );
    for (const row of rows) {
      expect(row).toHaveLength(table.head.length);
      expect([row[at('came mm')], row[at('left mm')]]).toEqual(['-0.25', '0.5']);
      // What a spreadsheet computes begins so (OWASP, CSV Injection), unless it is a number.
      for (const cell of row) if (/^[=+\-@\t\r]/.test(cell)) expect(Number.isFinite(Number(cell))).toBe(true);
    }
  });
});

/** RFC 4180, section 2, written for this test: quotes double inside quotes, CRLF ends a record. */
function parseCsv(text: string): string[][] {
  const records: string[][] = [];
  let record: string[] = [];
  let at = 0;
  while (at < text.length) {
    let field = '';
    if (text[at] === '"') {
      for (at += 1; ; at += 1) {
        if (text[at] !== '"') field += text[at];
        else if (text[at + 1] === '"') {
          field += '"';
          at += 1;
        } else break;
      }
      at += 1;
    } else
      while (text[at] !== ',' && !text.startsWith('\r\n', at)) {
        field += text[at];
        at += 1;
      }
    record.push(field);
    if (text[at] === ',') at += 1;
    else if (text.startsWith('\r\n', at)) {
      records.push(record);
      record = [];
      at += 2;
    } else throw new Error(`neither comma nor line end at ${at}`);
  }
  return records;
}
