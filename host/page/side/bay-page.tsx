/** The bay: what is known of its floor, until when, and what to do next. */
import type { BayState } from '../../views/bay-state';
import { BayFloor } from '../drawings/bay-floor';
import { usePreferences } from '../preferences';
import { Refusal } from '../refusal';
import type { PageProps } from '../routes';
import { useHeard } from '../stream';
import { lengthText, numberText, sentence } from '../units';
import { useAsked } from './asked';
import { Facts } from './machines-page';
import './side.css';

export function BayPage(_: PageProps) {
  const { screen } = useHeard();
  const { reply: bays, refused } = useAsked<readonly BayState[]>('/api/bays');
  return (
    <div class="side">
      <h1>Bay</h1>
      <Refusal refused={refused} />
      {bays?.length === 0 && (
        <section>
          <h2>{screen?.bay.name ?? 'This bay'}</h2>
          <p class="state unsure">
            <strong>? Floor not surveyed.</strong> Its unevenness counts as assumed, so results are less tight
            and a floor out of level is not seen.
          </p>
          <p>
            Next: survey the floor with a staff and level, or a digital level walked there and back, and put
            it in with <code>swathplane bay survey FILE</code>; or measure one machine, turn it round on the
            same spots and measure it again: <code>swathplane bay turn-round</code>.
          </p>
        </section>
      )}
      {bays?.map((bay) => (
        <OneBay key={bay.name} bay={bay} />
      ))}
    </div>
  );
}

function OneBay({ bay }: { bay: BayState }) {
  const [{ units }] = usePreferences();
  const { slope } = bay;
  const isGood = bay.state === 'surveyed';
  return (
    <section aria-label={bay.name}>
      <h2>
        {bay.name} {bay.invented && <span class="label-tag">invented</span>}
      </h2>
      <p class={`state ${isGood ? 'good' : 'unsure'}`}>
        <strong>
          {isGood ? '✓' : '?'} {bay.state}
        </strong>
        {bay.expires === null ? '' : `, ${isGood ? 'good until' : 'until'} ${bay.expires}`}
      </p>
      <p>Next: {bay.next}</p>
      <div class="halves">
        <div>
          <Facts
            facts={[
              ...(bay.surveyDate === null ? [] : ([['surveyed', bay.surveyDate]] as const)),
              ...(bay.instrument === null ? [] : ([['with', bay.instrument]] as const)),
              ...(bay.turnedRoundOn === null ? [] : ([['turned round', bay.turnedRoundOn]] as const)),
              ...(slope === null
                ? []
                : ([
                    ['slope along the bay', slopeText(slope.alongMmPerM)],
                    ['slope to the left', slopeText(slope.leftMmPerM)],
                    ['limit of slope', `${slope.limitMmPerM.toFixed(0)} mm/m`],
                    [
                      'twist of the wheel spots',
                      `${lengthText(slope.twistMm, units)} (limit ${lengthText(slope.twistLimitMm, units)})`,
                    ],
                  ] as const)),
            ]}
          />
          <ul>
            {bay.sentences.map((line) => (
              <li key={line}>{sentence(line, units)}</li>
            ))}
          </ul>
        </div>
        <div class="picture">
          <BayFloor bay={bay} say={(mm) => numberText(mm, units)} />
        </div>
      </div>
    </section>
  );
}

/** A slope has no inches: mm in a metre are thousandths. */
function slopeText(mmPerM: number): string {
  return `${mmPerM.toFixed(1).replace('-', '−')} mm/m`;
}
