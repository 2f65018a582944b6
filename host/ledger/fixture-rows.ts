/**
 * The row of capture numbers and starts of each fixture: a fixture never leaves a number out and never gives one twice, so
 * that a number missing in between is a capture that is not on the record. It knows events only.
 */
import type { LogEvent } from './events';

export class FixtureRows {
  private readonly fixtures = new Map<string, Row>();

  see(event: LogEvent): void {
    switch (event.type) {
      case 'captured':
        return this.rowOf(event.fixtureId).captured(event.capture);
      case 'fixture joined':
        return this.rowOf(event.fixture.fixtureId).heard(event.fixture.bootCount);
      case 'fixture restarted':
        return this.rowOf(event.fixtureId).heard(event.bootCount);
      case 'session opened':
        return this.rowOf(event.fixture.fixtureId).heard(event.fixture.bootCount);
      case 'fixture lost':
        return this.rowOf(event.fixtureId).lost();
      case 'captures elsewhere':
        return this.rowOf(event.fixtureId).elsewhere(event.captures);
      case 'log restored':
        for (const row of this.fixtures.values()) row.mayHaveLost();
        return;
      default:
    }
  }

  /** What nothing on the record explains, in words. In part of a log missing numbers say nothing: they are of other jobs. */
  unexplained(options: { readonly partial?: boolean } = {}): string[] {
    return [...this.fixtures].flatMap(([fixtureId, row]) =>
      row.unexplained(options.partial === true).map((what) => `fixture ${fixtureId}: ${what}`),
    );
  }

  /** How many captures of how many fixtures were looked at. */
  counts(): { readonly fixtures: number; readonly captures: number } {
    const captures = [...this.fixtures.values()].reduce((sum, row) => sum + row.bootOf.size, 0);
    return { fixtures: this.fixtures.size, captures };
  }

  private rowOf(fixtureId: string): Row {
    const row = this.fixtures.get(fixtureId) ?? new Row();
    this.fixtures.set(fixtureId, row);
    return row;
  }
}

class Row {
  /** Start in which each capture was taken. */
  readonly bootOf = new Map<number, number>();
  private highest = 0;
  private readonly explained = new Set<number>();
  /** Highest start that was heard of when the fixture joined. */
  private heardBoot = 0;
  private wasLost = false;
  /** Captures in a start that nothing had announced, until something does. */
  private unannounced: { readonly capture: number; readonly boot: number }[] = [];
  /** Ranges within which a restored log may have lost captures: from the highest until then to the next that came. */
  private openRange: number | undefined;
  private readonly lostRanges: (readonly [number, number])[] = [];

  captured({ capture, bootCount }: { readonly capture: number; readonly bootCount: number }): void {
    if (this.openRange !== undefined && capture > this.highest) {
      this.lostRanges.push([this.openRange, capture]);
      this.openRange = undefined;
    }
    this.highest = Math.max(this.highest, capture);
    this.bootOf.set(capture, bootCount);
    if (bootCount > this.heardBoot && this.heardBoot > 0 && !this.wasLost)
      this.unannounced.push({ capture, boot: bootCount });
  }

  heard(boot: number): void {
    this.heardBoot = Math.max(this.heardBoot, boot);
    this.wasLost = false;
    this.unannounced = this.unannounced.filter((u) => u.boot > boot);
  }

  lost(): void {
    this.wasLost = true;
  }

  elsewhere(captures: readonly number[]): void {
    for (const capture of captures) this.explained.add(capture);
  }

  mayHaveLost(): void {
    this.openRange ??= this.highest;
  }

  unexplained(isPartial: boolean): string[] {
    const numbers = [...this.bootOf.keys()].sort((a, b) => a - b);
    const gaps: string[] = [];
    const backwards: string[] = [];
    for (const [i, number] of numbers.entries()) {
      const before = numbers[i - 1];
      if (before === undefined) continue;
      const missing = rangeText(before + 1, number - 1, (n) => this.isExplained(n));
      if (missing !== '') gaps.push(missing);
      const [boot, bootBefore] = [this.bootOf.get(number) ?? 0, this.bootOf.get(before) ?? 0];
      if (boot < bootBefore)
        backwards.push(`capture ${number} is of start ${boot}, the one before it of start ${bootBefore}`);
    }
    return [
      ...(gaps.length === 0 || isPartial
        ? []
        : [`captures ${gaps.join(', ')} are missing, and no event says why`]),
      ...backwards,
      ...this.unannounced.map(
        ({ capture, boot }) => `capture ${capture} is of start ${boot}, and no event tells of that start`,
      ),
    ];
  }

  private isExplained(number: number): boolean {
    return (
      this.explained.has(number) ||
      this.lostRanges.some(([after, before]) => number > after && number < before)
    );
  }
}

/** The numbers from `low` to `high` that are not explained, as ranges. */
function rangeText(low: number, high: number, isExplained: (number: number) => boolean): string {
  const ranges: string[] = [];
  let start: number | undefined;
  // A jump this wide is no row of lost captures but another memory: it is said as one.
  const isWide = high - low > 10_000;
  if (isWide) return `${low} to ${high}`;
  for (let n = low; n <= high + 1; n += 1) {
    const isMissing = n <= high && !isExplained(n);
    if (isMissing) start ??= n;
    else if (start !== undefined) {
      ranges.push(start === n - 1 ? `${start}` : `${start} to ${n - 1}`);
      start = undefined;
    }
  }
  return ranges.join(', ');
}
