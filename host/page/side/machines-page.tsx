import type { PageProps } from '../routes';

export function MachinesPage(_: PageProps) {
  return <h1>Machines</h1>;
}
