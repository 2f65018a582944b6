import type { PageProps } from '../routes';

export function RecordsPage(_: PageProps) {
  return <h1>Records</h1>;
}
