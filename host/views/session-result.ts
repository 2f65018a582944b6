/** What a check, a study or a calibration showed, for a screen. */
import { BASELINE_CHECKS, checkCharts, checkState, type CheckPoint } from '../gauging/daily-check';
import type { CalibrationRecord } from '../gauging/calibration/record';
import type { Day } from '../gauging/equipment';
import type { Session } from '../gauging/session';
import type { PlacementStudy } from '../gauging/study/accept';
import { varianceStudy } from '../gauging/study/variance-study';
import { studyReadings } from '../gauging/study/of-session';
import { acceptedStudyLines } from './gauging-words';
import { calibrationView } from './calibration-view';
import { controlChartPicture } from './control-chart-view';
import type { SessionResult } from './session-part';
import { varianceStudyView } from './study-view';

/** Checks of one fixture, the newest last. */
export function checkResult(points: readonly CheckPoint[], on: Day): SessionResult {
  const last = points.at(-1);
  const state = checkState(points, on);
  if (last === undefined || state === undefined)
    return {
      isGood: false,
      title: 'No check',
      sentences: ['An edge was left out: this was no check. Take it again.'],
      tables: [],
      charts: [],
    };
  const charts = checkCharts(points);
  const isGood = state.state === 'in control';
  return {
    isGood,
    title: isGood ? 'In control' : 'Out of control',
    sentences: [
      ...(isGood
        ? []
        : [`The fixture ${state.why}.`, 'Until then every result with this fixture is “can’t tell yet”.']),
      `It reads ${off(last.offsetMm)} in the mean of both edges, and the high edge ${off(last.tiltMm)} against the low one.`,
      ...(charts.baseline < BASELINE_CHECKS
        ? [`The charts have learned from ${charts.baseline} of ${BASELINE_CHECKS} checks.`]
        : []),
    ],
    tables: [],
    charts: [
      controlChartPicture('Mean of both edges', charts.offset, 'mm'),
      controlChartPicture('High edge less low edge', charts.tilt, 'mm'),
    ],
  };
}

/** Written to the fixture: what was found, with the budget. */
export function calibrationResult(session: number, record: CalibrationRecord): SessionResult {
  const { facts, tables, notice } = calibrationView(session, record);
  return {
    isGood: true,
    title: `Written to fixture ${record.fixtureId}, due on ${record.due}`,
    sentences: [notice, ...facts],
    tables,
    charts: [],
  };
}

function off(mm: number): string {
  return `${Math.abs(mm).toFixed(3)} mm too ${mm >= 0 ? 'high' : 'low'}`;
}

/** Says why it cannot be analysed where a step was left out. */
export function studyResult(session: Session): SessionResult {
  const readings = studyReadings(session);
  if (session.leftOut.length > 0)
    return {
      isGood: false,
      title: 'Study with gaps',
      sentences: [
        `${session.leftOut.length} clampings were left out: take the study again, or complete it as a file and analyse it with “swathplane study FILE”.`,
      ],
      tables: [],
      charts: [],
    };
  const { sentences, tables, charts } = varianceStudyView(varianceStudy(readings), readings);
  // What a simulated fixture shows says nothing of this shop's clampings.
  const mayAccept = session.opened.simulated ? {} : { mayAccept: true as const };
  return { isGood: true, title: 'Study complete', sentences, tables, charts, ...mayAccept };
}

/** The same after it was accepted. */
export function acceptedResult(done: SessionResult, width: PlacementStudy): SessionResult {
  const { mayAccept: _, ...shown } = done;
  return { ...shown, title: 'Study accepted', sentences: [...acceptedStudyLines(width), ...done.sentences] };
}
