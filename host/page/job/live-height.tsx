/** The live height, as large as a hand, with settled or why not; while a nut is turned by it, with the bar that follows. */
import type { LivePart } from '../../views/bay-screen';
import { LiveTurnBar } from '../drawings/what-to-turn';
import type { Units } from '../preferences';
import { useLive } from '../stream';
import { numberText, sentence, unitText } from '../units';

export function LiveHeight({ units }: { units: Units }) {
  const live = useLive();
  const bar = live?.bar ?? null;
  const is = live === undefined ? 'is-silent' : bar === null ? stillness(live) : 'is-turning';
  const [whole = '–', rest = ''] = (
    live === undefined ? '–' : numberText(bar?.heightMm ?? live.heightMm, units, 2)
  ).split(/(?=[.])/);
  return (
    <section
      class={`live ${is}`}
      aria-label="Live height"
      data-uptime-ms={live?.uptimeMs}
      data-turning={bar?.state}
    >
      <p class="height">
        <span class="whole">{whole}</span>
        <span class="decimals">{rest}</span>
        <span class="unit">{unitText(units)}</span>
      </p>
      {bar !== null ? (
        <>
          <LiveTurnBar live={bar} />
          <Turning text={sentence(bar.text, units)} />
        </>
      ) : (
        <p class="stillness">
          <span class="sign" aria-hidden="true" />
          {live === undefined
            ? 'no live height'
            : live.waiting.length === 0
              ? 'settled'
              : `waiting: ${live.waiting.join(', ')}`}
        </p>
      )}
    </section>
  );
}

function stillness({ waiting }: LivePart): string {
  return waiting.length === 0 ? 'is-settled' : 'is-waiting';
}

/** While somebody turns, nothing counts but whether to go on: "past it: turn back, 0.4 mm down to go". */
function Turning({ text }: { text: string }) {
  const [state = '', ...how] = text.split(': ');
  return (
    <p class="turning">
      <strong>{state}</strong> {how.join(': ')}
    </p>
  );
}
