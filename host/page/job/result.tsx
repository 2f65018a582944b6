/** What a set of readings showed: the result with its probability, measure by measure, and what is behind it. */
import type { ResultPart } from '../../views/result-part';
import { ResultMark } from '../drawings/result-mark';
import type { Units } from '../preferences';
import { sentence } from '../units';

export function Result({ result, units }: { result: ResultPart; units: Units }) {
  const { title, rows, remarks, turning } = result;
  return (
    <section class="result" aria-label={`Result: ${title}`}>
      <h2>{title}</h2>
      <ResultMark {...result} />
      <table class="measures">
        <caption class="hidden">Measures</caption>
        <thead>
          <tr>
            <th scope="col">Measure</th>
            <th scope="col">Value ± U (k = 2)</th>
            <th scope="col">Limits</th>
            <th scope="col">Verdict</th>
          </tr>
        </thead>
        <tbody>
          {rows.map((row) => (
            <tr key={row.name}>
              <th scope="row">{row.name}</th>
              <td>{sentence(row.measured, units)}</td>
              <td>{sentence(row.limits, units)}</td>
              <td class={`verdict-word ${row.verdict.replaceAll(' ', '-')}`}>{row.verdict}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {[...turning, ...remarks].length > 0 && (
        <ul class="remarks">
          {[...turning, ...remarks].map((line) => (
            <li>{sentence(line, units)}</li>
          ))}
        </ul>
      )}
    </section>
  );
}
