/** A calibration record in words and tables: what terminal, page and PDF show. */
import type { CalibrationRecord } from '../gauging/calibration/record';
import { CALIBRATION_LIMITS } from '../gauging/calibration/record';
import { significant, type Table } from './table';

export interface CalibrationView {
  readonly number: number;
  readonly title: string;
  /** Stands under the title, always. */
  readonly notice: string;
  readonly fixtureId: string;
  readonly on: string;
  readonly simulated: boolean;
  readonly facts: readonly string[];
  readonly tables: readonly Table[];
  readonly method: readonly string[];
}

export const CALIBRATION_NOTICE =
  'In-house calibration record, not an accredited certificate. It claims no conformity with any laboratory standard.';

export function calibrationView(number: number, record: CalibrationRecord): CalibrationView {
  return {
    number,
    title: `Calibration ${number} of fixture ${record.fixtureId}`,
    notice: CALIBRATION_NOTICE,
    fixtureId: record.fixtureId,
    on: record.on,
    simulated: record.simulated,
    facts: factsOf(record),
    tables: [referenceTable(record), pointTable(record), budgetTable(record)],
    method: METHOD,
  };
}

const METHOD = [
  'Method: the fixture sits on edges of the height master, gauge blocks on the plate under its spot, seated anew for every reading, up the ladder and down again in both pinned positions of the head. One least-squares fit gives the curve of the sensor for both positions and the place of the edge of the high one. The zero of the motion part comes from turning the master with the fixture on its shelf.',
  `Limits of this shop (no outside source): expanded uncertainty ${CALIBRATION_LIMITS.expandedMm} mm, error left at a known height ${CALIBRATION_LIMITS.leftMm} mm, spread of a reading ${CALIBRATION_LIMITS.spreadMm} mm, gain of one head against the other ${CALIBRATION_LIMITS.gainDifference}. A calibration beyond one of them is not written.`,
  'Guides (used as guides only): JCGM 100:2008 (GUM) 4.2, 4.3, 5.1, G.4 for the budget; ISO/IEC 17025:2017 6.4, 6.5, 7.6 and 7.8.4 for what is recorded; ISO 10012:2003 7.1 and 7.3 for due dates and traceability. Clause numbers from memory.',
  'U is the expanded uncertainty of the height that the calibration gives, coverage 95.45 %, with the coverage factor of Student’s t for the effective degrees of freedom. It does not contain the clamping on a blade; that is the repeatability study’s.',
];

function factsOf(r: CalibrationRecord): string[] {
  const { temperature: t, gainDifference: gain } = r;
  const drift = `${(t.perC * 100).toFixed(4)} % of the distance a degree`;
  return [
    `Fixture ${r.fixtureId}, firmware ${r.firmwareVersion}; calibrated on ${r.on} by ${r.by || '(no name given)'}; due on ${r.due}${r.simulated ? '; SIMULATED FIXTURE, no real measurement' : ''}`,
    `Greatest expanded uncertainty ${r.worstExpandedMm.toFixed(3)} mm; greatest error left at a known height ${r.worstLeftMm.toFixed(3)} mm; found before: up to ${Math.max(...r.points.map((p) => Math.abs(p.foundMm))).toFixed(3)} mm`,
    ...(r.first === undefined
      ? []
      : [
          'FIRST CALIBRATION: the fixture held none for a head; what was found before is what drawing and data sheet were off. Beam and edge stay as drawn and are in the budget',
        ]),
    `Curve of degree ${r.degree}; spread of one reading, seated anew, ${r.sMm.toFixed(3)} mm (sd, ${r.degreesOfFreedom} degrees of freedom)`,
    ...(r.highHeadOffsetMm === undefined
      ? []
      : [`Edge of the high head moved by ${r.highHeadOffsetMm.toFixed(3)} mm`]),
    ...(gain === undefined
      ? []
      : [
          `Gain of the high head less that of the low one: ${(100 * gain.value).toFixed(3)} ± ${(200 * gain.standardUncertainty).toFixed(3)} %`,
        ]),
    `Zero of the motion part ${r.gravityBiasUg.map((g) => (g / 1000).toFixed(1)).join(', ')} mg; shelf slopes ${r.shelfMmPerM.map((s) => s.toFixed(1)).join(' and ')} mm/m`,
    `At ${t.meanC.toFixed(1)} °C; drift ${drift}, ${t.measured ? `measured over ${t.spanC.toFixed(1)} degrees` : 'kept from before, not measured'}`,
  ];
}

function referenceTable({ references }: CalibrationRecord): Table {
  return {
    title: 'Reference equipment',
    head: ['id', 'kind', 'certificate', 'laboratory', 'calibrated', 'due', 'U (k = 2)'],
    rows: references.map((e) => [
      e.id,
      e.kind,
      e.certificate,
      e.laboratory,
      e.calibratedOn,
      e.due,
      `${e.expandedUncertainty} ${e.unit}`,
    ]),
  };
}

function pointTable({ points }: CalibrationRecord): Table {
  return {
    title: 'Known heights, mm',
    head: ['head', 'edge', 'block', 'height', 'readings', 'found', 'left'],
    rows: [...points]
      .sort((a, b) => a.head - b.head || a.heightMm - b.heightMm)
      .map((p) => [
        p.head === 0 ? 'low' : 'high',
        p.edgeMm.toFixed(3),
        p.blockMm.toFixed(3),
        p.heightMm.toFixed(3),
        `${p.readings}`,
        p.foundMm.toFixed(3),
        p.leftMm.toFixed(3),
      ]),
  };
}

function budgetTable({ budgets }: CalibrationRecord): Table {
  const worst = budgets.reduce((a, b) => (b.budget.expanded > a.budget.expanded ? b : a), budgets[0]);
  const { budget } = worst;
  return {
    title: `Uncertainty at ${worst.heightMm.toFixed(1)} mm, ${worst.head === 0 ? 'low' : 'high'} head, where it is greatest: U = ${budget.expanded.toFixed(3)} mm, k = ${budget.coverageFactor.toFixed(2)}, ${Number.isFinite(budget.effectiveDegreesOfFreedom) ? budget.effectiveDegreesOfFreedom.toFixed(0) : 'infinitely many'} effective degrees of freedom`,
    head: ['source', 'type', 'u', 'sensitivity', 'contribution, mm', 'share', 'from'],
    rows: [
      ...budget.rows.map((row) => [
        row.name,
        row.type,
        significant(row.standardUncertainty, 2),
        significant(row.sensitivity, 3),
        row.contribution.toFixed(4),
        `${(100 * row.share).toFixed(0)} %`,
        row.source,
      ]),
      ['combined', '', '', '', budget.combined.toFixed(4), '', ''],
    ],
  };
}
