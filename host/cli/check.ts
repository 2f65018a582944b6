/** The daily check of a fixture on its height master, and its charts. */
import { conductGauging } from '../conduct/gauging-session';
import { historiesInLog } from '../conduct/gauging-in-log';
import { checkBegins } from '../conduct/gauging-plans';
import { today } from '../conduct/today';
import { numberedError } from '../errors/errors';
import { checkCharts, checkState, type CheckCharts, type CheckPoint } from '../gauging/daily-check';
import { controlChartPicture, controlChartText } from '../views/control-chart-view';
import { svgCharts } from '../views/svg-chart';
import { withFixture, type SessionOptions } from './gauging-set-up';
import { print, printJson, writeOut } from './output';
import { reading } from './with-log';

export interface CheckOptions extends SessionOptions {
  readonly svg?: string;
}

/** Exit code 0 in control, 1 out of control. Errors: 475, 479, 482, 483 and those of link and log. */
export function checkFixture(options: CheckOptions): Promise<number> {
  return withFixture(options, (gauging) =>
    conductGauging(
      gauging,
      options.resume ??
        ((at) =>
          checkBegins(
            gauging.ledger,
            { on: today(), technician: options.technician, simulated: options.simulated !== undefined },
            at,
          )),
      (session) => {
        const { fixtureId } = session.opened.fixture;
        const history = historiesInLog(gauging.ledger).find((h) => h.fixtureId === fixtureId);
        return Promise.resolve(shown(fixtureId, history?.checks ?? [], options));
      },
    ),
  );
}

/** Charts of every fixture of the log, or of one. Exit code 1 when one is out of control or overdue. */
export function showChecks(
  fixtureId: string | undefined,
  options: { readonly log: string; readonly svg?: string; readonly json?: boolean },
): Promise<number> {
  const histories = reading(options, historiesInLog).filter(
    (h) => h.checks.length > 0 && (fixtureId === undefined || h.fixtureId === fixtureId),
  );
  if (histories.length === 0)
    throw numberedError(
      'no such session',
      `no daily check${fixtureId === undefined ? '' : ` of ${fixtureId}`} in ${options.log}`,
    );
  if (options.json === true) {
    printJson(
      histories.map((h) => ({
        ...h,
        state: checkState(h.checks, today()),
        charts: checkCharts(h.checks),
      })),
    );
    return Promise.resolve(histories.every((h) => isInControl(h.checks)) ? 0 : 1);
  }
  return Promise.resolve(Math.max(...histories.map((h) => shown(h.fixtureId, h.checks, options))));
}

function shown(
  fixtureId: string,
  points: readonly CheckPoint[],
  options: { readonly svg?: string; readonly json?: boolean },
): number {
  if (points.length === 0) throw numberedError('no such session', 'an edge was left out: this was no check');
  const state = checkState(points, today());
  const charts = checkCharts(points);
  if (options.svg !== undefined) writeOut(options.svg, Buffer.from(svgCharts(pictures(fixtureId, charts))));
  if (options.json === true) printJson({ fixtureId, state, points, charts });
  else {
    const last = points[points.length - 1];
    const learning =
      charts.baseline < 20 ? ` (${charts.baseline} of 20 checks that the chart learns from)` : '';
    print(
      `Fixture ${fixtureId}, check of ${last.on}: ${state?.state ?? ''}${learning}`,
      ...(state === undefined || state.why === ''
        ? []
        : [`  ${state.why}`, '  Until then every result with this fixture is "can\'t tell yet".']),
      `  reads ${last.offsetMm.toFixed(3)} mm too high in the mean, edges ${last.tiltMm.toFixed(3)} mm too far apart`,
      '  mean of both edges, mm',
      ...controlChartText(charts.offset).map((line) => `  ${line}`),
      '  high edge less low edge, mm',
      ...controlChartText(charts.tilt).map((line) => `  ${line}`),
      ...(options.svg === undefined ? [] : [`Written: ${options.svg}`]),
    );
  }
  return isInControl(points) ? 0 : 1;
}

function isInControl(points: readonly CheckPoint[]): boolean {
  return checkState(points, today())?.state === 'in control';
}

function pictures(fixtureId: string, charts: CheckCharts) {
  return [
    controlChartPicture(`${fixtureId}: mean of both edges`, charts.offset, 'mm'),
    controlChartPicture(`${fixtureId}: the same, moving average`, charts.offsetEwma, 'mm'),
    controlChartPicture(`${fixtureId}: high edge less low edge`, charts.tilt, 'mm'),
    controlChartPicture(`${fixtureId}: the same, moving average`, charts.tiltEwma, 'mm'),
  ];
}
