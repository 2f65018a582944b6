/** A host link and a peer on standing time, with everything that the link tells written down. */
import { openLink } from '../../../host/link/index';
import type { Link, Listeners, Notices } from '../../../host/link/index';
import { createManualTimers } from './manual-timers';
import type { ManualTimers } from './manual-timers';
import { createPeer, createShelf } from './peer';
import type { Peer, Shelf } from './peer';

export interface Bench {
  readonly peer: Peer;
  readonly shelf: Shelf;
  readonly timers: ManualTimers;
  /** Every notice in order. */
  readonly told: { readonly name: keyof Notices; readonly notice: unknown }[];
  /** The notices of one kind. */
  tellings<N extends keyof Notices>(name: N): Notices[N][];
  /** Opens the link, moving time until it is open or has failed. */
  connect(): Promise<Link>;
  /** Awaits `promise`, moving time until it settles. */
  settled<T>(promise: Promise<T>): Promise<T>;
}

export function createBench(peer = createPeer(), shelf = createShelf()): Bench {
  const timers = createManualTimers();
  const told: { name: keyof Notices; notice: unknown }[] = [];
  const note = (name: keyof Notices) => (notice: unknown) => void told.push({ name, notice });
  const listeners: Listeners = {
    live: note('live'),
    captured: note('captured'),
    happened: note('happened'),
    error: note('error'),
    lost: note('lost'),
    back: note('back'),
    garbage: note('garbage'),
    missing: note('missing'),
  };

  const settled = async <T>(promise: Promise<T>): Promise<T> => {
    let done = false;
    const mark = () => (done = true);
    promise.then(mark, mark);
    for (let stepMs = 0; !done && stepMs < 60_000; stepMs += 100) await timers.advance(100);
    if (!done) throw new Error('still waiting after a minute');
    return promise;
  };

  return {
    peer,
    shelf,
    timers,
    told,
    tellings: <N extends keyof Notices>(name: N) =>
      told.filter((t) => t.name === name).map((t) => t.notice as Notices[N]),
    connect: () => settled(openLink({ open: peer.open, name: 'peer', keep: shelf.keep, timers, listeners })),
    settled,
  };
}
