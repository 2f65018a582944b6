/** The table of a campaign as lines: each figure of both populations beside its bar, and the hand method under it. */
import { interval, percent, type Figures, type Share, type UndecidedFigures } from './figures';

export interface Campaign {
  readonly machines: number;
  readonly seed: number;
  readonly wallSeconds: number;
  readonly cpuSeconds: number;
  readonly byteStreamJobs: number;
  readonly populations: readonly Figures[];
}

export function campaignText(campaign: Campaign): string[] {
  const { machines, seed, wallSeconds, cpuSeconds, byteStreamJobs, populations } = campaign;
  const row = (name: string, bar: string, of: (f: Figures) => string) => [name, bar, ...populations.map(of)];
  const shares = (name: string, bar: string, of: (f: Figures) => Share) =>
    row(name, bar, (f) => words(of(f)));
  const table = [
    ['', 'bar', ...populations.map((f) => `${f.population} (${f.machines})`)],
    shares('accepted although truly outside', '<= 0.5 %', (f) => f.tool.falselyAccepted),
    shares('accepted, of all', '', (f) => f.tool.accepted),
    shares('rejected, of all', '', (f) => f.tool.rejected),
    shares('undecided at the end, of all', '', (f) => f.tool.undecided),
    shares('inside on arrival and accepted as it came', '', (f) => f.tool.insideArrivalsAccepted),
    ...(['full', 'quick'] as const).flatMap((which) =>
      (['any', 'surveyed'] as const).flatMap((floors) => {
        const bars = which === 'full' && floors === 'surveyed' ? ['<= 8 %', '<= 3 %'] : ['', ''];
        const of = (key: keyof UndecidedFigures) => (f: Figures) =>
          f.tool.undecidedInside[which][floors][key];
        const where = floors === 'any' ? '' : ', surveyed floor';
        return [
          shares(`inside by U, undecided after the ${which} sequence${where}`, bars[0] ?? '', of('afterIt')),
          shares('  as the rule alone leaves them at these U', '', of('byRule')),
          shares('  the same machines when reading ended', bars[1] ?? '', of('atEnd')),
          shares('  inside by the U when reading ended, undecided then', '', of('insideAtEnd')),
        ];
      }),
    ),
    shares('inside by U, rejected (results)', '<= 1 %', (f) => f.tool.rejectedInside),
    ...['ratios 3 % off', 'ratios 10 % off'].flatMap((name) => [
      row(`within limits after one round, ${name}`, '', (f) => roundWords(f, name, 'afterOne')),
      row(`within limits after two rounds, ${name}`, '', (f) => roundWords(f, name, 'afterTwo')),
    ]),
    ...(['first', 'last'] as const).flatMap((when) =>
      (['level', 'rake', 'cut height', 'bend'] as const).map((name) =>
        shares(
          `U (k = 2) holds the truth, ${when} result: ${name}`,
          name === 'bend' ? '' : '94-97 % / >= 90 %',
          (f) => f.tool.coverage[when][name],
        ),
      ),
    ),
    row('faults of >= 2 limits, single', '', ({ tool: { faults } }) => String(faults.large)),
    row(
      '  right part alone / in a group',
      '',
      ({ tool: { faults } }) => `${faults.right} / ${faults.inAGroup}`,
    ),
    row(
      '  wrong part / nothing / said to be hidden',
      '',
      ({ tool: { faults } }) => `${faults.wrongPart} / ${faults.nothing} / ${faults.hidden}`,
    ),
    row('  right part alone, of all alone and wrong', '>= 97 %', ({ tool: { faults } }) =>
      words({ count: faults.right, of: faults.right + faults.wrongPart + faults.nothing }),
    ),
    row('good three-spindle machine, measuring, median', '<= 180 s', ({ tool: { goodThreeSpindles: g } }) =>
      g.machines === 0 ? '-' : `${g.medianSeconds} s, ${g.medianReadings} readings`,
    ),
    ['hand method, simulated', '', ...populations.map(() => '')],
    shares('  accepted although truly outside', '', (f) => f.hand.falselyAccepted),
    shares('  accepted, of all', '', (f) => f.hand.accepted),
    shares('  inside on arrival and accepted as it came', '', (f) => f.hand.insideArrivalsAccepted),
    row(
      '  rounds when anything was turned, minutes, medians',
      '',
      ({ hand }) => `${hand.medianRoundsWhenTurned}, ${hand.medianMinutes.toFixed(0)} min`,
    ),
    shares('  tape at the end within 1/16 in of the truth', '', (f) => f.hand.tapeWithinMark),
  ];
  return [
    `${machines} simulated machines, seed ${seed}, both populations invented, the mismatched one frozen; ${byteStreamJobs} jobs through firmware and byte stream`,
    `${wallSeconds.toFixed(0)} s on the clock, ${cpuSeconds.toFixed(0)} s of processor time; 95 % intervals after Wilson in brackets`,
    '',
    ...columns(table),
    '',
    ...populations.flatMap(confusionLines),
    ...populations.flatMap((f) => [
      ...numbers(`${f.population}: accepted although outside`, f.tool.falselyAcceptedMachines),
      ...(f.trouble.length === 0
        ? []
        : [`${f.population}: ${f.trouble.length} jobs did not end: ${f.trouble.slice(0, 5).join('; ')}`]),
    ]),
  ];
}

function words(share: Share): string {
  if (share.of === 0) return '-';
  const [low, high] = interval(share);
  return `${percent(share).toFixed(1)} % [${low.toFixed(1)}, ${high.toFixed(1)}] of ${share.of}`;
}

function roundWords(figures: Figures, name: string, which: 'afterOne' | 'afterTwo'): string {
  const found = figures.tool.rounds.find((r) => r.name === name);
  return found === undefined ? '-' : words(found[which]);
}

function confusionLines({ population, tool }: Figures): string[] {
  const lines = Object.entries(tool.faults.confusion).flatMap(([kind, said]) =>
    Object.entries(said)
      .sort(([, a], [, b]) => b - a)
      .map(([what, count], i) => [i === 0 ? `  ${kind}` : '', String(count), what]),
  );
  return lines.length === 0
    ? []
    : [`${population}: fault put in, how often, what was said`, ...columns(lines), ''];
}

function numbers(what: string, machines: readonly number[]): string[] {
  return machines.length === 0
    ? []
    : [`${what}: machines ${machines.slice(0, 20).join(', ')}${machines.length > 20 ? ' ...' : ''}`];
}

function columns(rows: readonly (readonly string[])[]): string[] {
  const widths = (rows[0] ?? []).map((_, i) => Math.max(...rows.map((r) => r[i]?.length ?? 0)));
  return rows.map((r) =>
    r
      .map((cell, i) => cell.padEnd(widths[i] ?? 0))
      .join('  ')
      .trimEnd(),
  );
}
