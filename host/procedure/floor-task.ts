/** What the technician has to decide of the bay's floor before the first reading, and what it costs to leave it. */
import { expiredFloor } from '../bay/known-floor';
import { wheelTwist } from '../bay/wheel-twist';
import type { JobState } from './state';
import type { Task } from './task';

/** Undefined when the floor is fit, or has been decided on. */
export function floorTask({ bay, expiredFloor: answered, shim, profile }: JobState): Task | undefined {
  if (bay === undefined) return undefined;
  const expired = expiredFloor(bay);
  if (expired !== undefined && answered === undefined)
    return { do: 'expired floor', expired, bay: bay.bay.name };
  const twist = wheelTwist(bay, profile);
  return twist !== undefined && twist.twistMm > twist.limitMm && shim === undefined
    ? { do: 'shim wheels', twist }
    : undefined;
}

/** Why the floor keeps a pass from being called one. */
export function floorCaps({ bay, expiredFloor: answered, shim, profile }: JobState): string[] {
  if (bay === undefined) return [];
  const caps: string[] = [];
  const expired = expiredFloor(bay);
  if (expired !== undefined && answered !== 'put aside')
    caps.push(
      `the ${expired.what} of ${bay.bay.name} expired on ${expired.on}: survey it again, or put it aside at the start of a job and be judged without it`,
    );
  const twist = wheelTwist(bay, profile);
  if (twist !== undefined && twist.twistMm > twist.limitMm && (shim === undefined || shim === 'none'))
    caps.push(
      `the floor under the four wheels is twisted by ${twist.twistMm.toFixed(1)} mm, shop limit ${twist.limitMm} mm: shim a wheel, or use another bay`,
    );
  return caps;
}
