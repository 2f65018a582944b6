/** The forms of files, as `--help` prints them. */

export const BAY_FORM = `
The file: {
  "format": "swathplane-bay/1", "name": "bay 1",
  "points": [ { "name": "left rear wheel", "xMm": 0, "yMm": 450, "wheel": true }, { "name": "g1", "xMm": 400, "yMm": 600 }, ... ],
  "parking": { "xMm": 0, "yMm": 0, "headingDeg": 0, "positionSdMm": 20, "headingSdDeg": 1 },
  "survey": { "date": "2026-03-02", "instrument": "level no. 4", "expandedUncertaintyMm": 0.4, "expiresDays": 180,
              "staff": [ { "setUp": 1, "point": "left rear wheel", "readingMm": 1432.15 }, ... ],
              "steps": [ { "from": "g1", "to": "g2", "riseMm": 0.41 }, ... ] }
}
The bay's frame: x along the bay, y to the left, by its lines. Parking says where the machine's origin (on the floor
midway between the drive wheels) comes to stand, and how well. Read every point from two set-ups, or walk steps both ways.`;

export const SOLVE_FORM = `
The file: {
  "machine": "a profile's name, a file name, or a whole profile",
  "readings": [ { "spindle": "left", "headingDeg": 90, "end": "A", "seating": 1, "placement": 1,
                  "heightMm": 78.3, "standardErrorMm": 0.02 }, ... ],
  "carrying": ["front left", ...]          hangers that carry; all when left out
  "widths": { "placementMm": 0.25, ... }   standard deviations that replace the assumed ones
}
Heights are of the cutting edge above the floor under it. Readings with one placement share one clamping.`;
