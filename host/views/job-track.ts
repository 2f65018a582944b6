/** The way through a job as a few stations, with the one that it is at: so that a glance says how far it is. */
import { pathOf } from '../procedure/path';
import { currentSetting, type JobState } from '../procedure/state';
import type { Task } from '../procedure/task';

export interface Station {
  readonly title: string;
  readonly is: 'behind' | 'here' | 'ahead';
}

const TITLES = {
  prepare: 'Prepare',
  fixture: 'Fixture check',
  read: 'Read',
  part: 'Look at parts',
  turn: 'Turn',
  again: 'Read again',
  tighten: 'Tighten',
  confirm: 'Confirm',
  close: 'Fixture home',
  deliver: 'Deliver',
} as const;

type Place = keyof typeof TITLES;

/** Stations that this job's use does not have are left out, unless the job is at one. */
export function trackOf(state: JobState, task: Task): Station[] {
  const here = placeOf(state, task);
  const { levels, tests } = pathOf(state);
  const usual = (Object.keys(TITLES) as Place[]).filter(
    (place) =>
      place === here ||
      ((place === 'part' ? tests && state.settings.some((s) => s.decided.length > 0) : true) &&
        (['turn', 'again', 'tighten', 'confirm'].includes(place) ? levels : true)),
  );
  const at = usual.indexOf(here);
  return usual.map((place, i) => ({
    title: TITLES[place],
    is: i < at || state.closed !== undefined ? 'behind' : i === at ? 'here' : 'ahead',
  }));
}

function placeOf(state: JobState, task: Task): Place {
  const stage = currentSetting(state)?.stage;
  const reading: Place =
    stage === 'after turning' ? 'again' : stage === 'after tightening' ? 'confirm' : 'read';
  switch (task.do) {
    case 'confirm cautions':
    case 'carry over':
    case 'expired floor':
    case 'shim wheels':
    case 'join fixture':
      return 'prepare';
    case 'state claim':
    case 'prepare':
      return stage === undefined ? 'prepare' : 'close';
    case 'read':
      if (task.target.kind === 'master') return task.target.when === 'opening' ? 'fixture' : 'close';
      if (task.target.kind === 'watch') return task.target.during === 'push and pull' ? 'part' : 'turn';
      return reading;
    case 'check reading':
      return task.against === 'the edge' ? (stage === undefined ? 'fixture' : 'close') : reading;
    case 'seat deck':
    case 'feel hanger':
    case 'take up':
    case 'read by ruler':
    case 'assess':
      return reading;
    case 'turn':
    case 'check turning':
    case 'offer levelling':
      return 'turn';
    case 'refit blade':
    case 'swap blade':
    case 'push and pull':
    case 'decide part':
      return 'part';
    case 'tighten':
      return 'tighten';
    case 'close':
    case 'nothing':
      return 'deliver';
  }
}
