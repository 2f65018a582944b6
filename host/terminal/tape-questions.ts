/** A machine never seen before, asked for at the terminal: what a tape gives from outside, one thing at a time. */
import type { TapeDimensions } from '../machines/from-tape';
import type { Family } from '../machines/profile';

/** How the questions are asked: a key for a choice, a line for a number or a name. Each rejects when it is left. */
export interface Asking {
  choice<T>(prompt: string, choices: Record<string, T>): Promise<T>;
  number(prompt: string): Promise<number>;
  text(prompt: string): Promise<string>;
}

/** Nothing has to be taken off or lifted for any of these. Lengths in mm. */
export async function askDimensions(asking: Asking, families: readonly Family[]): Promise<TapeDimensions> {
  const model = await asking.text('What is it called? Its model, as it is to stand on the sheet');
  const family = await asking.choice(
    `How is its deck carried?   ${families.map((f, i) => `${i + 1}: ${f}`).join('   ')}`,
    Object.fromEntries(families.map((f, i) => [`${i + 1}`, f])),
  );
  const blades = await asking.choice('How many blades, beside each other?   1 to 5', {
    ...Object.fromEntries([1, 2, 3, 4, 5].map((n) => [`${n}`, n])),
  });
  const bladeLengthMm = await asking.number('One blade, from tip to tip, mm');
  const between =
    blades === 1
      ? {}
      : {
          spacingMm: await asking.number(
            'From the middle of one spindle to the next, across the machine, mm',
          ),
          staggerMm: await asking.number(
            'How far every second spindle from the left stands ahead of the others, mm (0: in line; negative: behind)',
          ),
        };
  const wheelbaseMm = await asking.number('From the drive axle to the front axle, mm');
  const frontTrackMm = await asking.number('Between the middles of the front tyres, mm (0: one front wheel)');
  const rearTrackMm = await asking.number('Between the middles of the rear tyres, mm');
  const rotation = await asking.choice('Seen from above, the blades turn   c: clockwise   o: the other way', {
    c: 'clockwise',
    o: 'counter-clockwise',
  } as const);
  const cutHeightMm = await asking.number('Cut height that the owner uses most, mm');
  return {
    model,
    family,
    blades,
    bladeLengthMm,
    ...between,
    wheelbaseMm,
    frontTrackMm,
    rearTrackMm,
    rotation,
    cutHeightMm,
  };
}
