/** How far the job is, at a glance. */
import type { Station } from '../../views/job-track';

const WORDS = { behind: 'done', here: 'now', ahead: 'to come' } as const;

export function Stations({ stations }: { stations: readonly Station[] }) {
  return (
    <ol class="stations" aria-label="How far the job is">
      {stations.map(({ title, is }) => (
        <li class={is} aria-current={is === 'here' ? 'step' : undefined}>
          {title}
          <span class="hidden">: {WORDS[is]}</span>
        </li>
      ))}
    </ol>
  );
}
