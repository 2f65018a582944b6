/** What must not be overlooked, above everything else. */
import type { BayScreen } from '../views/bay-screen';
import type { Connection } from './stream';

export function Banners({ connection, screen }: { connection: Connection; screen: BayScreen | undefined }) {
  const trouble = screen?.bay.trouble ?? null;
  return (
    <div class="banners" role="alert">
      {screen?.bay.doNotStart === true && (
        <p class="banner danger">
          <strong>Fixture on blade: do not start</strong>
        </p>
      )}
      {connection === 'gone' && (
        <p class="banner warning">
          <strong>The computer of the bay is not to be heard.</strong> What is shown is old. The page comes
          back by itself.
        </p>
      )}
      {connection === 'here' && trouble !== null && (
        <p class="banner warning">
          <strong>
            E{trouble.number}: {trouble.cause}
          </strong>
          {trouble.about === '' ? '. ' : ` (${trouble.about}). `}
          {trouble.nextStep}.
        </p>
      )}
    </div>
  );
}
