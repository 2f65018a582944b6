/** The height master: the cradle that the fixture lives in, with two edges at known heights over its plate. */
export interface HeightMaster {
  readonly name: string;
  readonly lowMm: number;
  readonly highMm: number;
}

/** What the tool uses until a shop enters its own reference equipment. */
export const NOMINAL_HEIGHT_MASTER: HeightMaster = { name: 'height master, nominal', lowMm: 40, highMm: 80 };

/** An opening reading farther off than this: the fixture does not read true. Common practice, no source. */
export const OPENING_LIMIT_MM = 0.5;

/** A closing reading farther from the opening one than this: something moved during the job. Common practice, no source. */
export const CLOSING_LIMIT_MM = 0.3;
