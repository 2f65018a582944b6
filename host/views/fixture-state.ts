/** Whether the fixtures may be trusted today, and what that rests on: checks, calibrations, reference equipment. For the page. */
import { BASELINE_CHECKS, checkCharts, checkState, type CheckPoint } from '../gauging/daily-check';
import { isOverdue, type Day, type Equipment } from '../gauging/equipment';
import type { GaugingEvent } from '../gauging/events';
import type { FixtureHistory } from '../gauging/known';
import type { PlacementStudy } from '../gauging/study/accept';
import { controlChartPicture } from './control-chart-view';
import type { Chart } from './svg-chart';

type Written = Extract<GaugingEvent, { type: 'calibration written' }>;

export interface FixtureState {
  readonly fixtureId: string;
  readonly check: {
    readonly state: 'in control' | 'out of control' | 'overdue' | 'not under daily check';
    readonly on: Day | null;
    readonly why: string;
    readonly last: CheckPoint | null;
    readonly checks: number;
    /** Checks that the charts learn from before their limits are the fixture's own. */
    readonly wanted: number;
  };
  readonly charts: readonly Chart[];
  readonly calibration: { readonly on: Day; readonly due: Day; readonly isOverdue: boolean } | null;
  /** Newest first. */
  readonly calibrations: readonly {
    readonly session: number;
    readonly on: Day;
    readonly due: Day;
    readonly by: string;
    readonly worstExpandedMm: number;
    readonly versions: string;
    readonly simulated: boolean;
  }[];
  readonly next: string;
}

export interface InstrumentsState {
  readonly on: Day;
  readonly fixtures: readonly FixtureState[];
  readonly register: readonly (Equipment & { readonly isOverdue: boolean })[];
  readonly placement: PlacementStudy | null;
}

export function instrumentsState(known: {
  readonly register: readonly Equipment[];
  readonly histories: readonly FixtureHistory[];
  readonly calibrations: readonly Written[];
  readonly placement: PlacementStudy | undefined;
  readonly on: Day;
}): InstrumentsState {
  const { register, histories, calibrations, placement, on } = known;
  return {
    on,
    fixtures: histories.map((h) =>
      fixtureState(
        h,
        calibrations.filter((c) => c.record.fixtureId === h.fixtureId),
        on,
      ),
    ),
    register: register.map((e) => ({ ...e, isOverdue: isOverdue(e, on) })),
    placement: placement ?? null,
  };
}

function fixtureState(
  { fixtureId, checks, calibration }: FixtureHistory,
  written: readonly Written[],
  on: Day,
): FixtureState {
  const state = checkState(checks, on);
  const isDue = calibration !== undefined && on > calibration.due;
  const check = {
    state: state?.state ?? ('not under daily check' as const),
    on: state?.on ?? null,
    why: state?.why ?? '',
    last: checks.at(-1) ?? null,
    checks: checks.length,
    wanted: BASELINE_CHECKS,
  };
  return {
    fixtureId,
    check,
    charts: checks.length === 0 ? [] : chartsOf(checks),
    calibration: calibration === undefined ? null : { ...calibration, isOverdue: isDue },
    calibrations: written.toReversed().map(({ session, record, calibrations }) => ({
      session,
      on: record.on,
      due: record.due,
      by: record.by,
      worstExpandedMm: record.worstExpandedMm,
      versions: calibrations
        .map((c) => `head ${c.headPosition === 0 ? 'low' : 'high'} ${c.version}`)
        .join(', '),
      simulated: record.simulated,
    })),
    next: nextStep(check.state, isDue, calibration !== undefined),
  };
}

function chartsOf(checks: readonly CheckPoint[]): Chart[] {
  const charts = checkCharts(checks);
  return [
    controlChartPicture('Mean of both edges', charts.offset, 'mm'),
    controlChartPicture('The same, moving average', charts.offsetEwma, 'mm'),
    controlChartPicture('High edge less low edge', charts.tilt, 'mm'),
    controlChartPicture('The same, moving average', charts.tiltEwma, 'mm'),
  ];
}

function nextStep(check: FixtureState['check']['state'], isDue: boolean, isCalibrated: boolean): string {
  if (isDue) return 'Calibrate it: until then every result with it is “can’t tell yet”.';
  switch (check) {
    case 'out of control':
      return 'Wipe lips, plate and pads, seat it again and repeat the check; if it stays out of control, calibrate it.';
    case 'overdue':
      return 'Check it on its height master today: until then every result with it is “can’t tell yet”.';
    case 'not under daily check':
      return 'Check it on its height master every day: a drift shows before it spoils a result.';
    case 'in control':
      return isCalibrated ? 'Nothing to do today.' : 'Calibrate it when its gauge blocks are at hand.';
  }
}
