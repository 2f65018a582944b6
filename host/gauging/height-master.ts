/** The height master: the cradle that the fixture lives in, with edges at known heights over its plate. */
export interface HeightMaster {
  readonly name: string;
  /** For each pinned position of the head, low and high: the pair of edges that lies within its reach. */
  readonly edges: readonly [MasterEdges, MasterEdges];
}

export interface MasterEdges {
  readonly lowMm: number;
  readonly highMm: number;
}

/** What the tool uses until a shop enters its own reference equipment. */
export const NOMINAL_HEIGHT_MASTER: HeightMaster = {
  name: 'height master, nominal',
  edges: [
    { lowMm: 35, highMm: 85 },
    { lowMm: 75, highMm: 125 },
  ],
};

/** An opening reading farther off than this: the fixture does not read true. Common practice, no source. */
export const OPENING_LIMIT_MM = 0.5;

/** A closing reading farther from the opening one than this: something moved during the job. Common practice, no source. */
export const CLOSING_LIMIT_MM = 0.3;

/** Edges for a head position of a capture: 0 low, 1 high. */
export function edgesFor(master: HeightMaster, headPosition: number): MasterEdges {
  return master.edges[headPosition === 0 ? 0 : 1];
}

/** The head position whose range (25 to 90 mm low, 65 to 130 mm high) has this cut height nearer its middle. */
export function headFor(cutHeightMm: number): 0 | 1 {
  return cutHeightMm <= 80 ? 0 : 1;
}
