import { WAITING } from '../../protocol/wire/codes';
import { FIXTURE_ERRORS } from '../../protocol/wire/errors';
import type { ErrorEntry } from '../../protocol/wire/errors';
import { MESSAGES } from '../../protocol/wire/messages';
import type { Body } from '../../protocol/wire/messages';
import { NumberedError, numberedError } from '../errors/errors';

/**
 * The fixture's own error as the host's kind of value: same number, cause and next step, with the request and the detail
 * in `about`. A number that this host does not know (a newer fixture) becomes E213 and is named in `about`.
 */
export function fixtureError(body: Body<'error'>): NumberedError {
  const request = MESSAGES.find((m) => m.id === body.aboutMessage)?.name;
  const about = [request, detailText(body)].filter((part) => part !== undefined && part !== '').join(', ');
  const entry: ErrorEntry | undefined = FIXTURE_ERRORS.find((e) => e.number === body.code);
  if (entry === undefined) return numberedError('fixture refused', `error ${body.code}, ${about}`);
  return new NumberedError(entry, about);
}

/** What the detail number says: for a reading that did not settle the reasons in words, else the number itself. */
function detailText({ code, detail }: Body<'error'>): string {
  if (code !== NOT_SETTLED) return `detail ${detail}`;
  const reasons = WAITING.filter((w) => Math.floor(detail / 2 ** w.value) % 2 === 1).map((w) => w.name);
  return reasons.join(', ');
}

const NOT_SETTLED = 104;

/** True for the errors that the fixture itself reported, which prove that it is there and answers. */
export function isFromFixture(error: unknown): error is NumberedError {
  return (
    error instanceof NumberedError && ((error.number >= 100 && error.number < 200) || error.number === 213)
  );
}
