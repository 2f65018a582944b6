/** What keeps a pass from being called one: open preparation items, an unfit floor, a fixture that does not read true. */
import { CLOSING_LIMIT_MM, OPENING_LIMIT_MM } from '../gauging/height-master';
import { masterErrorMm } from './assess';
import { floorCaps } from './floor-task';
import { standing, type JobState, type MasterTarget } from './state';

/** One line each, as the sheet shows it; empty when nothing stands against a pass. */
export function capsOf(state: JobState): string[] {
  return [...preparationCaps(state), ...floorCaps(state), ...fixtureCaps(state)];
}

function preparationCaps({ profile, prepared }: JobState): string[] {
  return profile.preparation.flatMap((item) => {
    const answer = prepared[item.id];
    const outside =
      typeof answer === 'number' &&
      item.number !== undefined &&
      (answer < item.number.lower || answer > item.number.upper);
    return answer === 'no' || outside ? [`not prepared: ${item.text}`] : [];
  });
}

function fixtureCaps(state: JobState): string[] {
  return state.fixtures.flatMap(({ identity: { fixtureId } }) => {
    const errorsMm = (when: MasterTarget['when'], head?: number) =>
      standing(state)
        .filter((r) => r.fixtureId === fixtureId && r.target.kind === 'master' && r.target.when === when)
        .filter((r) => head === undefined || r.capture.headPosition === head)
        .map((r) => masterErrorMm(r));
    const caps: string[] = [];
    if (errorsMm('opening').some((e) => Math.abs(e) > OPENING_LIMIT_MM))
      caps.push(`fixture ${fixtureId} is off on its height master`);
    const closing = errorsMm('closing');
    const shift = mean(closing) - mean(errorsMm('opening', lastHead(state)));
    if (closing.length > 0 && Math.abs(shift) > CLOSING_LIMIT_MM)
      caps.push(`fixture ${fixtureId} read ${shift.toFixed(2)} mm differently at the end`);
    return caps;
  });
}

/** The head stays as it was for the last tip: turning it would not show that the fixture still reads true. */
export function lastHead(state: JobState): number {
  return (
    standing(state)
      .filter((r) => r.target.kind === 'tip')
      .at(-1)?.capture.headPosition ?? 0
  );
}

function mean(values: number[]): number {
  return values.length === 0 ? 0 : values.reduce((a, b) => a + b, 0) / values.length;
}
