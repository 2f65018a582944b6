/** The fixture shows its height on a tip while somebody turns an adjuster or pushes and pulls the blade. */
import { WAITING } from '../../protocol/wire/codes';
import type { Link } from '../link/link';

/** Live heights a second: the bar has to follow the nut. */
const WATCH_HZ = 20;
const STANDARD_ERROR_UM = 20;
/** While one of these holds, the height is none of the tip's. */
const NOT_A_HEIGHT = ['out of range', 'tilted', 'glare'];

/** Watches until `act` is done; gives what it said, with the lowest and highest live height meanwhile. Rejects as the link does. */
export async function watchWithFixture<Said>(
  link: Link,
  job: number,
  step: number,
  act: () => Promise<Said>,
): Promise<{ readonly said: Said; readonly lowMm: number; readonly highMm: number }> {
  let lowMm = Infinity;
  let highMm = -Infinity;
  const stop = link.on('live', ({ height, waiting }) => {
    if (WAITING.some((w) => NOT_A_HEIGHT.includes(w.name) && isSet(waiting, w.value))) return;
    lowMm = Math.min(lowMm, height / 1000);
    highMm = Math.max(highMm, height / 1000);
  });
  try {
    await link.request('arm', {
      job,
      step,
      purpose: 0,
      liveHz: WATCH_HZ,
      standardErrorUm: STANDARD_ERROR_UM,
    });
    const said = await act();
    return { said, lowMm, highMm };
  } finally {
    stop();
    await link.request('disarm', {}).catch(() => {});
  }
}

function isSet(bits: number, place: number): boolean {
  return Math.floor(bits / 2 ** place) % 2 === 1;
}
