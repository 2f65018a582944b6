import type { PageProps } from '../routes';

export function BayPage(_: PageProps) {
  return <h1>Bay</h1>;
}
