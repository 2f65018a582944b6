/** What past jobs teach of a machine's adjusters before its own job begins. */
import { learnGains, type TurningRound } from '../../protocol/solver';
import type { JobEvent, LearnedGains } from '../ledger/events';
import type { MachineProfile } from '../machines/profile';
import { readingsOfRounds } from './assess';
import { hangingWith, roundsBefore } from './gains';
import { replay, type JobState } from './state';

/**
 * Ratios of the adjusters of one machine from past jobs on machines of its model, its own (same serial number) counting
 * most. Jobs on a model whose adjusters or hangers were described otherwise are left out, and simulated jobs teach only
 * simulated ones. Undefined when nothing is to be learned.
 */
export function learnedGains(
  pastJobs: Iterable<readonly JobEvent[]>,
  machine: { readonly profile: MachineProfile; readonly serialNumber: string; readonly simulated: boolean },
): LearnedGains | undefined {
  const numbers = new Map<string, number>();
  const rounds: TurningRound[] = [];
  let jobs = 0;
  for (const events of pastJobs) {
    const state = replay(events);
    if (state === undefined || !isAlike(state, machine)) continue;
    const { serialNumber } = state;
    // Machines without a serial number are each a machine of their own.
    const name = serialNumber === '' ? `job ${state.job}` : `serial ${serialNumber}`;
    const own = serialNumber !== '' && serialNumber === machine.serialNumber;
    if (!own && !numbers.has(name)) numbers.set(name, numbers.size + 1);
    const found = roundsBefore(state, undefined, readingsOfRounds(state), own ? 0 : (numbers.get(name) ?? 0));
    if (found.length > 0) jobs += 1;
    rounds.push(...found);
  }
  if (jobs === 0) return undefined;
  const { gains } = learnGains(hangingWith(machine.profile, undefined), rounds);
  return {
    jobs,
    adjusters: machine.profile.adjusters.map(({ name, ratioUncertainty }, j) => ({
      adjuster: name,
      factor: gains[j]?.factor ?? 1,
      standardUncertainty: gains[j]?.standardUncertainty ?? ratioUncertainty,
    })),
  };
}

function isAlike(
  state: JobState,
  { profile, simulated }: { readonly profile: MachineProfile; readonly simulated: boolean },
): boolean {
  const moved = (p: MachineProfile) => JSON.stringify([p.model, p.hangers, p.adjusters]);
  return state.simulated === simulated && moved(state.profile) === moved(profile);
}
