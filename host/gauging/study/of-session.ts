/** The readings of a study that was taken with the fixture. */
import type { Session } from '../session';
import type { StudyReading } from './readings';

/** Heights in mm; what was left out is not in it. */
export function studyReadings({ readings }: Session): StudyReading[] {
  return readings.flatMap(({ target, capture }) =>
    target.kind === 'tip'
      ? [
          {
            part: target.tip,
            operator: target.technician,
            trial: `${target.repeat}`,
            value: capture.height / 1000,
          },
        ]
      : [],
  );
}
