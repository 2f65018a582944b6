/** The places of the page, each under its own hash. */
import type { ComponentType } from 'preact';
import { useEffect, useState } from 'preact/hooks';
import { JobPage } from './job/job-page';
import { BayPage } from './side/bay-page';
import { FixturePage } from './side/fixture-page';
import { MachinesPage } from './side/machines-page';
import { RecordsPage } from './side/records-page';

export interface Route {
  readonly hash: string;
  readonly title: string;
  readonly Page: ComponentType<PageProps>;
}

/** What stands behind the route in the hash: `#/records/12` gives `['12']`. */
export interface PageProps {
  readonly rest: readonly string[];
}

export const ROUTES: readonly [Route, ...Route[]] = [
  { hash: '#/job', title: 'Job', Page: JobPage },
  { hash: '#/machines', title: 'Machines', Page: MachinesPage },
  { hash: '#/records', title: 'Records', Page: RecordsPage },
  { hash: '#/bay', title: 'Bay', Page: BayPage },
  { hash: '#/fixture', title: 'Fixture', Page: FixturePage },
];

export function useRoute(): { readonly route: Route; readonly rest: readonly string[] } {
  const [hash, setHash] = useState(location.hash);
  useEffect(() => {
    const take = () => setHash(location.hash);
    addEventListener('hashchange', take);
    return () => removeEventListener('hashchange', take);
  }, []);
  const [, place = '', ...rest] = hash.split('/');
  const route = ROUTES.find((r) => r.hash === `#/${place}`) ?? ROUTES[0];
  return { route, rest: rest.map(plain) };
}

/** An address that somebody typed may hold a % that stands for nothing. */
function plain(part: string): string {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}
