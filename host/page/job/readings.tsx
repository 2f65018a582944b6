/** The readings of the job, newest first. */
import type { ReadingPart } from '../../views/bay-screen';
import type { Units } from '../preferences';
import { numberText, unitText } from '../units';

export function Readings({ readings, units }: { readings: readonly ReadingPart[]; units: Units }) {
  const shown = readings.filter((r) => r.isOfNow || r.setAside !== null).toReversed();
  if (shown.length === 0) return null;
  return (
    <table class="readings">
      <caption>Readings taken</caption>
      <thead>
        <tr>
          <th scope="col">Tip</th>
          <th scope="col">Height, {unitText(units)}</th>
          <th scope="col">Off, {unitText(units)}</th>
        </tr>
      </thead>
      <tbody>
        {shown.map((r) => (
          <tr>
            <th scope="row">{r.text}</th>
            <td>{numberText(r.heightMm, units)}</td>
            <td>
              {r.setAside !== null
                ? 'set aside'
                : r.residualMm === null
                  ? ''
                  : numberText(r.residualMm, units, 2)}
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
