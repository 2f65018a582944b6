import type { PageProps } from '../routes';

export function FixturePage(_: PageProps) {
  return <h1>Fixture</h1>;
}
