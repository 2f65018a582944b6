/** How turning is said: live, and when a round did not come out as asked. */
import type { LiveAnswer, LiveStep } from '../../protocol/solver';
import type { TurningFinding } from '../ledger/events';
import type { MachineProfile } from '../machines/profile';
import { opposite, turnsText } from './words';

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

/** One step of live turning: which adjuster, which tip to watch and where it is to stop. */
export function liveStepText(
  adjuster: MachineProfile['adjusters'][number],
  step: LiveStep,
  startMm: number,
  tip = '',
): string {
  const amount = turnsText(Math.abs(step.turns), adjuster.stepTurns);
  const about = Math.abs(step.turns) < adjuster.stepTurns / 2 ? amount : `about ${amount}`;
  const way = step.turns >= 0 ? 'raise' : 'lower';
  const rotation = step.turns >= 0 ? adjuster.raises.rotation : opposite(adjuster.raises.rotation);
  const how = `${rotation} seen from ${adjuster.raises.seenFrom}`;
  switch (step.what) {
    case 'clear':
      return `${adjuster.name}: lower by ${amount}, ${how}, so that its hanger hangs free`;
    case 'watch':
      return `${adjuster.name}: ${way}, ${how}, ${about}, until the tip of the ${tip} stands at ${(startMm + step.changeMm).toFixed(1)} mm`;
    case 'feel':
      return `${adjuster.name}: raise, ${how}, until its hanger just carries, ${about}`;
  }
}

/** What to do now, from the live height. */
export function liveStateText({ state, leftMm }: LiveAnswer): string {
  const left = `${Math.abs(leftMm).toFixed(1)} mm ${leftMm >= 0 ? 'up' : 'down'} to go`;
  switch (state) {
    case 'turn on':
      return `turn on: ${left}`;
    case 'stop':
      return 'stop: press the deck down and release it; it is right when it stays here';
    case 'past it':
      return `past it: turn back, ${left}`;
    case 'wrong way':
      return `wrong way: turn the other way, ${left}`;
    case 'nothing moves':
      return `nothing moves: press the deck down and release it; is the hanger slack, is this the right adjuster? ${left}`;
  }
}
