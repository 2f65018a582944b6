/** The job: the one thing to do now, and what it needs to be done. */
import type { PageProps } from '../routes';
import { useHeard } from '../stream';
import { JobInHand } from './job-in-hand';
import { NewJob } from './new-job';

export function JobPage(_: PageProps) {
  const { screen } = useHeard();
  if (screen === undefined) return null;
  return screen.job === null ? <NewJob bay={screen.bay} /> : <JobInHand screen={screen} job={screen.job} />;
}
