/** What was done and with what: turned adjusters, tightening, fixtures, readings, preparation; all as lines of text. */
import type { Labour } from '../views/labour';
import type { FixtureLine, SheetView, WithAll } from '../views/sheet-view';
import {
  differencesText,
  durationText,
  measuredText,
  RESULT_WORDS,
  STAGE_TITLES,
  turnedText,
} from '../views/words';

/** What the last complete set of readings shows. */
export function lastReadText(view: SheetView): string {
  const last = view.stages.at(-1);
  if (view.decision === undefined || (last?.turned.length ?? 0) > 0) return 'as last read';
  return view.stages.length > 1 ? 'as it leaves' : 'as it came';
}

/** One line for each turn, oldest first; rounds are named when there are several. */
export function turnLines(view: SheetView): string[] {
  const rounds = view.stages.filter((s) => s.turned.length > 0);
  return rounds.flatMap((stage, i) =>
    stage.turned.map(
      (t) =>
        `${rounds.length > 1 ? `round ${i + 1}, ` : ''}${turnedText(view.profile, t.adjuster, t.turns)}${t.live === true ? ' (about: by the live height)' : ''}`,
    ),
  );
}

export function tighteningText(view: SheetView): string {
  if (view.stages.some((s) => s.stage === 'after tightening'))
    return 'Tightened, and confirmed by a fresh set of readings after it.';
  if (view.tightened) return 'Tightened, but not read again after it: not confirmed.';
  return turnLines(view).length === 0 ? 'Nothing was turned.' : 'No tightening is on the record.';
}

export function fixtureLines(fixture: FixtureLine): string[] {
  return [
    `Fixture ${fixture.fixtureId}, firmware ${fixture.firmwareVersion}`,
    `calibration ${fixture.calibrationVersion}`,
    `on its height master: opening ${differencesText(fixture.openingErrorsMm)}`,
    `closing ${differencesText(fixture.closingErrorsMm)} (differences from its edges)`,
    ...(fixture.trust ?? []),
  ];
}

export function readingsText(view: SheetView): string {
  const aside = view.readings.filter((r) => r.setAside !== undefined).length;
  return `Readings: ${view.readings.length} taken, ${aside} set aside`;
}

/** Items answered, and those that are open or answered with no. */
export function preparationLines(view: SheetView): string[] {
  const open = view.prepared.filter((p) => p.answer === 'open');
  const refused = view.prepared.filter((p) => p.answer === 'no');
  return [
    `Preparation: ${view.prepared.length} items, ${open.length} open, ${refused.length} answered no (full record)`,
    ...open.map((p) => `open: ${p.text}`),
    ...refused.map((p) => `no: ${p.text}`),
  ];
}

/** "As it came, 1 set aside: fail; level ..." */
export function withAllText({ stage, decision, measures }: WithAll): string {
  const values = measures.map((m) => `${m.name} ${measuredText(m)}`).join(', ');
  return `${STAGE_TITLES[stage]}: ${RESULT_WORDS[decision]}; ${values}`;
}

/** By the clock of the log, and by the cost model. */
export function labourLines({ rows, seconds, modelledSeconds, pausedSeconds }: Labour): string[] {
  const line = (what: string, clock: number, model: number) =>
    `${what}: ${durationText(clock)} by the log, ${durationText(model)} by the cost model`;
  return [
    ...rows.map((r) => line(r.activity, r.seconds, r.modelledSeconds)),
    line('in all', seconds, modelledSeconds),
    ...(pausedSeconds > 0 ? [`the job stood open besides for ${durationText(pausedSeconds)}`] : []),
  ];
}
