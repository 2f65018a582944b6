/** How a round of turning is said: what it looks like when it did not come out as asked. */
import type { TurningFinding } from '../ledger/events';

/** "the rear left adjuster was turned the wrong way" */
export function findingText(finding: TurningFinding): string {
  switch (finding.what) {
    case 'as said':
      return 'everything was turned as asked';
    case 'nothing moved':
      return 'the deck did not follow: it sticks, press it down and release it';
    case 'did not move':
      return `the ${finding.adjuster} adjuster did not move its hanger: slack, stuck, or not turned`;
    case 'wrong way':
      return `the ${finding.adjuster} adjuster was turned the wrong way`;
    case 'other adjuster':
      return `the ${finding.instead} adjuster was turned in place of the ${finding.adjuster} one`;
  }
}

/** The question after a round that contradicts itself, with what the readings look like, likeliest first. */
export function turningCheckText(findings: readonly TurningFinding[]): string {
  const looks =
    findings.length === 0
      ? 'nothing known explains it'
      : `it looks as if ${findings.map((f) => findingText(f)).join(', or ')}`;
  return `Look again: the deck did not move as these turns should have moved it; ${looks}`;
}
