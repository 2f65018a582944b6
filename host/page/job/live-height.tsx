/** The live height, as large as a hand, with settled or why not. */
import type { Units } from '../preferences';
import { useLive } from '../stream';
import { numberText, sentence, unitText } from '../units';

export function LiveHeight({ units }: { units: Units }) {
  const live = useLive();
  const bar = live?.bar ?? null;
  const isSettled = live !== undefined && live.waiting.length === 0;
  const [whole = '–', rest = ''] = (live === undefined ? '–' : numberText(live.heightMm, units, 2)).split(
    /(?=[.])/,
  );
  return (
    <section
      class={`live ${isSettled ? 'is-settled' : 'is-waiting'}`}
      aria-label="Live height"
      data-uptime-ms={live?.uptimeMs}
    >
      <p class="height">
        <span class="whole">{whole}</span>
        <span class="decimals">{rest}</span>
        <span class="unit">{unitText(units)}</span>
      </p>
      <p class="stillness">
        <span class="sign" aria-hidden="true" />
        {live === undefined
          ? 'no live height'
          : isSettled
            ? 'settled'
            : `waiting: ${live.waiting.join(', ')}`}
      </p>
      {bar !== null && <p class="bar-text">{sentence(bar.text, units)}</p>}
    </section>
  );
}
