/** The live height, as large as a hand, with settled or why not. */
import type { Units } from '../preferences';
import { useLive } from '../stream';
import { numberText, sentence, unitText } from '../units';

export function LiveHeight({ units }: { units: Units }) {
  const live = useLive();
  const bar = live?.bar ?? null;
  const isSettled = live !== undefined && live.waiting.length === 0;
  return (
    <section class="live" aria-label="Live height">
      <p class="height">
        {live === undefined ? '–' : numberText(live.heightMm, units, 2)}
        <span class="unit">{unitText(units)}</span>
      </p>
      <p class={isSettled ? 'settled' : 'waiting'}>
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
