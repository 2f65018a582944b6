/** What must not be overlooked, above everything else. */
import { send } from './send';
import type { Heard } from './stream';

export function Banners({ heard: { connection, screen, refused } }: { heard: Heard }) {
  const trouble = screen?.bay.trouble ?? null;
  const lost = screen?.bay.fixtures.filter((f) => !f.isHere) ?? [];
  return (
    <div class="banners" role="alert">
      {screen?.bay.doNotStart === true && (
        <p class="banner danger">
          <strong>Fixture on blade: do not start</strong>
        </p>
      )}
      {refused !== undefined && (
        <p class="banner warning">
          <strong>
            E{refused.number}: {refused.cause}
          </strong>{' '}
          ({refused.about}). {refused.nextStep}.
        </p>
      )}
      {connection === 'gone' && refused === undefined && (
        <p class="banner warning">
          <strong>The computer of the bay is not to be heard.</strong> What is shown is old. The page comes
          back by itself.
        </p>
      )}
      {connection === 'here' && lost.length > 0 && trouble === null && (
        <p class="banner warning">
          <strong>Fixture {lost.map((f) => f.fixtureId).join(', ')} is not to be heard.</strong> Plug it in
          again; the job goes on where it was.
        </p>
      )}
      {connection === 'here' && trouble !== null && (
        <p class="banner warning">
          <strong>
            E{trouble.number}: {trouble.cause}
          </strong>
          {trouble.about === '' ? '. ' : ` (${trouble.about}). `}
          {trouble.nextStep}.
          {trouble.retried ? (
            ' It is tried again by itself.'
          ) : (
            <button type="button" onClick={() => void send('/api/job/go-on', {})}>
              Try again
            </button>
          )}
        </p>
      )}
    </div>
  );
}

/** What was said since the question before this one, where nothing worse is to be read. */
export function Notice({ heard: { screen } }: { heard: Heard }) {
  return (
    <p class="notice" role="status">
      {screen?.bay.doNotStart === true ? '' : screen?.bay.notices.at(-1)}
    </p>
  );
}
