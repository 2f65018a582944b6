/** The story of one machine: what it truly was, what the job did, what was solved and what the hand method made of it. */
import type { DirectJob } from './direct-job';
import type { Row } from './one-machine';
import type { Machine } from './population';

export function storyOf(machine: Machine, job: DirectJob, row: Row): string[] {
  const { profile } = machine;
  const stages = row.stages.flatMap((stage, i) => [
    `result ${i + 1}, ${stage.stage}, setting ${stage.setting}: ${stage.decision}`,
    ...stage.measures.map((m) => {
      const solved =
        m.solved === undefined
          ? 'not determined'
          : `${mm(m.solved.valueMm)} +- ${(2 * m.solved.uncertaintyMm).toFixed(2)}`;
      return `    ${m.name.padEnd(18)} ${solved.padEnd(20)} true ${mm(m.trueMm)}   limits ${m.lowerMm} to ${m.upperMm}`;
    }),
  ]);
  return [
    `machine ${machine.number}: ${profile.model} (invented), ${machine.population}, floor ${machine.survey === undefined ? 'not surveyed' : 'surveyed'}`,
    ...Object.entries(machine.shop).map(([name, value]) => `    ${name.padEnd(26)} ${JSON.stringify(value)}`),
    ...machine.faults.map((fault) => `  fault put in: ${JSON.stringify(fault)}`),
    '',
    'what happened',
    ...job.events.flatMap((event) => {
      if (event.type === 'job opened' || event.type === 'bay chosen' || event.type === 'cautions confirmed')
        return [];
      if (event.type === 'fixture joined') return [];
      if (event.type === 'captured') return [`    captured ${(event.capture.height / 1000).toFixed(2)} mm`];
      const { type, job: _, ...rest } = event;
      return [
        `  ${type} ${Object.values(rest)
          .map((v) => (typeof v === 'string' ? v : JSON.stringify(v)))
          .join(' ')}`,
      ];
    }),
    '',
    ...stages,
    '',
    ...row.faults.map(
      (f) =>
        `fault ${f.kind}, ${f.inLimits.toFixed(1)} limits: ${f.outcome}; said: ${f.said.join(' or ') || 'nothing'}`,
    ),
    `closed: ${row.decision}; ${row.readings} readings, ${row.arrivalSeconds} s of measuring before anything was turned`,
    '',
    `hand method, simulated: ${row.hand.accepted ? 'accepted' : 'not accepted'}${row.hand.acceptedOnArrival ? ' as it came' : ''}, ${row.hand.rounds} rounds, ${row.hand.minutes.toFixed(0)} min`,
    ...row.hand.measures.map(
      (m) =>
        `    ${m.name.padEnd(18)} tape ${(m.tapeMm === undefined ? '-' : mm(m.tapeMm)).padEnd(10)} true ${mm(m.trueMm)}`,
    ),
  ];
}

const mm = (value: number) => value.toFixed(2).padStart(7);
