/** The readings of the set in hand, newest first, each with what it is off from what all together say. */
import type { ReadingPart } from '../../views/bay-screen';
import type { Units } from '../preferences';
import { numberText, unitText } from '../units';

export function Readings({ readings, units }: { readings: readonly ReadingPart[]; units: Units }) {
  const shown = readings.filter((r) => r.isOfNow || r.setAside !== null).toReversed();
  if (shown.length === 0) return null;
  return (
    <table class="readings">
      <caption>Readings taken, {unitText(units)}</caption>
      <thead>
        <tr>
          <th scope="col">Tip</th>
          <th scope="col">Height</th>
          <th scope="col">Off the others</th>
        </tr>
      </thead>
      <tbody>
        {shown.map((r) => (
          <tr key={`${r.fixtureId} ${r.number}`} class={r.setAside === null ? '' : 'set-aside'}>
            <th scope="row">{r.text}</th>
            <td>{numberText(r.heightMm, units)}</td>
            <td>
              {r.setAside !== null
                ? 'set aside'
                : r.residualMm === null
                  ? '–'
                  : numberText(r.residualMm, units, 2)}
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
