/** The fixture shows its height on a tip while somebody turns an adjuster or pushes and pulls the blade. */
import { WAITING } from '../../protocol/wire/codes';
import type { Link } from '../link/link';

/** Live heights a second: the bar has to follow the nut. */
const WATCH_HZ = 20;
const STANDARD_ERROR_UM = 20;
/** Heights that are taken together: a quarter of a second, so that a hand's tremor is not taken for play. */
const TOGETHER = 5;
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
  let newest: number[] = [];
  const stop = link.on('live', ({ height, waiting }) => {
    if (WAITING.some((w) => NOT_A_HEIGHT.includes(w.name) && isSet(waiting, w.value))) return;
    newest = [...newest, height / 1000].slice(-TOGETHER);
    if (newest.length < TOGETHER) return;
    const mm = newest.reduce((sum, each) => sum + each, 0) / TOGETHER;
    lowMm = Math.min(lowMm, mm);
    highMm = Math.max(highMm, mm);
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
