/** Everything that is asked before the first reading and, of a shop's checklist, before the machine is handed over. */
import { floorOfJob } from '../bay/known-floor';
import { STRAIGHTEDGE_ITEM } from '../bay/straightedge';
import type { Carried, ItemAnswer } from '../ledger/events';
import type { Item } from '../machines/checklist';
import { CAUTIONS } from './cautions';
import { pathOf } from './path';
import type { JobState } from './state';
import type { Task } from './task';

/** Before measuring: cautions, the claim, the answers of the machine before, then item by item. */
export function prepare(state: JobState): Task | undefined {
  if (!state.cautionsConfirmed) return { do: 'confirm cautions', cautions: CAUTIONS };
  return (
    stateClaim(state, pathOf(state).claimFirst) ?? carryOver(state) ?? askItem(state, itemsBefore(state))
  );
}

/** Before the job is closed. */
export function beforeDelivery(state: JobState): Task | undefined {
  return askItem(state, state.checklist?.beforeDelivery ?? []) ?? stateClaim(state, pathOf(state).claimLast);
}

/** Every item of the job, in its order. */
export function itemsOf(state: JobState): readonly Item[] {
  return [...itemsBefore(state), ...(state.checklist?.beforeDelivery ?? [])];
}

/** Whether an answer is not as the item wants it. */
export function standsAgainst(item: Item, answer: ItemAnswer): boolean {
  if (typeof answer === 'number')
    return item.number !== undefined && (answer < item.number.lower || answer > item.number.upper);
  if (typeof answer === 'object')
    return 'chosen' in answer && item.choice?.notGood.includes(answer.chosen) === true;
  return answer === 'no';
}

/** What a finished job offers the next machine of its model: all that was in order, to be looked at there again. */
export function carriedFrom(state: JobState): Carried {
  const kept = itemsBefore(state).flatMap((item) => {
    const answer = state.prepared[item.id];
    return answer === undefined || standsAgainst(item, answer) ? [] : [[item.id, answer] as const];
  });
  return { fromJob: state.job, fromSerial: state.serialNumber, answers: Object.fromEntries(kept) };
}

/** Items whose answer was taken over from the machine before and not given anew. */
export function isCarried({ carried, prepared }: JobState, id: string): boolean {
  return carried?.answer === 'the same' && id in carried.answers && prepared[id] === carried.answers[id];
}

function itemsBefore({ profile, checklist, bay }: JobState): readonly Item[] {
  const floorIsKnown = bay !== undefined && floorOfJob(bay) !== undefined;
  return [
    ...(floorIsKnown ? [] : [STRAIGHTEDGE_ITEM]),
    ...profile.preparation,
    ...(checklist?.beforeMeasuring ?? []),
  ];
}

function carryOver(state: JobState): Task | undefined {
  const { carried, prepared } = state;
  if (carried === undefined || carried.answer !== undefined) return undefined;
  const items = itemsBefore(state).flatMap((item) => {
    const answer = carried.answers[item.id];
    return answer === undefined || prepared[item.id] !== undefined ? [] : { item, answer };
  });
  return items.length === 0 ? undefined : { do: 'carry over', fromSerial: carried.fromSerial, items };
}

/** A gate that is not in order is asked again until it is: measuring would be worth nothing before. */
function askItem({ prepared }: JobState, items: readonly Item[]): Task | undefined {
  const item = items.find((i) => {
    const answer = prepared[i.id];
    return answer === undefined || (i.gate === true && standsAgainst(i, answer));
  });
  return item === undefined ? undefined : { do: 'prepare', item };
}

function stateClaim(state: JobState, fields: readonly (keyof JobState['claim'])[]): Task | undefined {
  const field = fields.find((f) => state.claim[f] === undefined);
  return field === undefined ? undefined : { do: 'state claim', field };
}
