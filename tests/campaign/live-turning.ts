/** Live turning in the simulated physics: the deck sticks until it is pressed down, threads have play, ratios are far off. */
import { liveState, liveSteps, whatToTurn, type LiveStep, type WatchedTip } from '../../protocol/solver';
import { listProfiles } from '../../host/machines/load';
import type { MachineProfile } from '../../host/machines/profile';
import { hangingOf, measureQuestions } from '../../host/procedure/assess';
import type { JobState } from '../../host/procedure/state';
import { captureDirectly, drawFixture } from '../../host/simulation/direct-capture';
import { seededRandom, type Random } from '../../host/simulation/random';
import type { Shop } from '../../host/simulation/shop';
import { directHeightMm, directJob } from './direct-job';

export interface LiveFigures {
  /** Machines that were outside their limits when they came. */
  readonly turned: number;
  readonly insideAfterOneRound: number;
  /** Mean of acts of the wrench in a round. */
  readonly actsOfTheWrench: number;
}

/** Machines of listed profiles whose adjusters do not do what the profile says, by `ratioSd`, in a deck with friction. */
export function liveCampaign(options: {
  readonly jobs: number;
  readonly seed: number;
  readonly ratioSd: number;
  readonly frictionMm: number;
}): LiveFigures {
  const { jobs, seed, ratioSd, frictionMm } = options;
  const profiles = listProfiles().filter((p) => p.invented);
  let turned = 0;
  let insideAfterOneRound = 0;
  let acts = 0;
  for (let i = 0; turned < jobs && i < 4 * jobs; i += 1) {
    const profile = profiles[i % profiles.length];
    const shopOptions = { ratioSd, frictionMm, hangerErrorSdMm: 5, arrivalOnly: true };
    const { shop, stages, state } = directJob(seed + i, profile, shopOptions);
    const arrival = stages[0]?.assessment;
    if (arrival === undefined || arrival.result.decision === 'pass' || isInside(profile, shop)) continue;
    const carrying = profile.hangers.map(() => true);
    const wanted = whatToTurn(arrival.solution, hangingOf(profile), measureQuestions(profile), carrying);
    if (wanted === undefined || wanted.limitedBy.length > 0) continue;
    if (!isReachable(profile, shop, wanted.turns)) continue;
    turned += 1;
    acts += turnLive(profile, shop, tipsOf(state), wanted.turns, seededRandom(seed + i).split('live'));
    shop.technician.seatDeck();
    for (const { name } of state.profile.hangers) {
      const own = profile.adjusters.some((a) => a.moves.length === 1 && a.moves[0]?.hanger === name);
      if (own && shop.technician.feel(name) === 'slack') shop.technician.takeUpByFeel(name);
    }
    if (isInside(profile, shop)) insideAfterOneRound += 1;
  }
  return { turned, insideAfterOneRound, actsOfTheWrench: acts / turned };
}

/** Whether the real threads have travel enough; where not, no way of turning brings the machine inside. */
function isReachable(profile: MachineProfile, shop: Shop, turns: readonly number[]): boolean {
  return profile.adjusters.every(({ name, moves, travelTurns }, j) => {
    const { hanger, mmPerTurn } = moves[0] ?? { hanger: '', mmPerTurn: NaN };
    const needed = ((turns[j] ?? 0) * mmPerTurn) / shop.trueMmPerTurn(name, hanger);
    return needed > travelTurns[0] && needed < travelTurns[1];
  });
}

/** Places that were read when the machine came. */
function tipsOf(state: JobState): WatchedTip[] {
  const all = state.readings.flatMap(({ target }) =>
    target.kind === 'tip'
      ? [
          {
            spindle: state.profile.spindles.findIndex((s) => s.name === target.spindle),
            headingDeg: target.headingDeg,
          },
        ]
      : [],
  );
  return [...new Map(all.map((tip) => [JSON.stringify(tip), tip])).values()];
}

/** A technician who looks at the live height while the wrench turns. Gives how often the wrench was moved. */
function turnLive(
  profile: MachineProfile,
  shop: Shop,
  tips: readonly WatchedTip[],
  turns: readonly number[],
  random: Random,
): number {
  const layout = { spindles: profile.spindles, wheels: profile.wheels, groundPlane: profile.groundPlane };
  const steps = liveSteps(layout, hangingOf(profile), turns, tips);
  if (steps === undefined) throw new Error('the deck tips');
  const fixture = drawFixture(random);
  let acts = 0;
  for (const step of steps) {
    const adjuster = profile.adjusters[step.adjuster];
    if (adjuster === undefined) throw new Error('no such adjuster');
    if (step.what === 'clear') shop.technician.turn(adjuster.name, step.turns);
    else if (step.what === 'feel') shop.technician.takeUpByFeel(adjuster.moves[0]?.hanger ?? '');
    else acts += watchAndTurn(profile, shop, adjuster.name, step, () => liveHeightMm(shop, fixture, random));
  }
  return acts;
}

function watchAndTurn(
  profile: MachineProfile,
  shop: Shop,
  adjuster: string,
  step: Extract<LiveStep, { what: 'watch' }>,
  live: () => number,
): number {
  const { technician } = shop;
  technician.clampOn(profile.spindles[step.tip.spindle]?.name ?? '', 'A');
  technician.turnBladeTo(step.tip.headingDeg);
  technician.pressDown();
  const start = live();
  let made = 0;
  let acts = 0;
  let stops = 0;
  while (acts < 100) {
    const answer = liveState(step, start, live(), made);
    if (answer.state === 'stop' || answer.state === 'nothing moves') {
      technician.pressDown();
      stops = answer.state === 'stop' ? stops + 1 : 0;
      if (stops === 2) return acts;
      if (answer.state === 'stop') continue;
    } else stops = 0;
    // A quarter turn at a time, less when it is near.
    const next = Math.max(-0.25, Math.min(0.25, answer.leftTurns));
    technician.turn(adjuster, next);
    if (Math.abs(technician.lastTurns) < 1e-9) return acts;
    made += technician.lastTurns;
    // Near its place the deck is pressed down and released after every turn, as the words say.
    if (Math.abs(answer.leftMm) < 1) technician.pressDown();
    acts += 1;
  }
  return acts;
}

function liveHeightMm(shop: Shop, fixture: ReturnType<typeof drawFixture>, random: Random): number {
  const direct = captureDirectly(shop, fixture, 10, random);
  if (direct === undefined) throw new Error('no floor within reach');
  return directHeightMm(direct);
}

function isInside(profile: MachineProfile, shop: Shop): boolean {
  return profile.measures.every((m) => {
    const truth = shop.trueMeasureMm(m.name);
    return m.what !== 'tips' || (truth >= m.lowerMm && truth <= m.upperMm);
  });
}

/** The figures as lines for a terminal or a committed result. */
export function liveText(what: string, figures: LiveFigures): string[] {
  const { turned, insideAfterOneRound, actsOfTheWrench } = figures;
  return [
    what,
    `  truly within limits after one round: ${insideAfterOneRound} of ${turned} (${((100 * insideAfterOneRound) / turned).toFixed(1)} %)`,
    `  the wrench moved ${actsOfTheWrench.toFixed(0)} times a round`,
  ];
}
