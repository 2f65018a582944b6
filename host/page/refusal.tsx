/** Why something was not done, with number and next step. */
import type { Refused } from './send';

export function Refusal({ refused }: { refused: Refused | undefined }) {
  return (
    <p class={refused === undefined ? 'hidden' : 'refusal'} role="status">
      {refused !== undefined && (
        <>
          <strong>
            {refused.number === 0 ? '' : `E${refused.number}: `}
            {refused.cause}
          </strong>
          {refused.about === '' ? '. ' : ` (${refused.about}). `}
          {refused.nextStep}.
        </>
      )}
    </p>
  );
}
