/** Error numbers that the fixture reports: cause and next step, the same words on every face and in the specification. */

export interface ErrorEntry {
  readonly number: number;
  readonly name: string;
  readonly cause: string;
  readonly nextStep: string;
}

// One row on one line.
// prettier-ignore
export const FIXTURE_ERRORS = [
  { number: 100, name: 'unknown message', cause: 'the fixture does not know this message', nextStep: 'update the fixture\'s firmware or the host tool, whichever is older' },
  { number: 101, name: 'malformed message', cause: 'the message is shorter than its fields, has a value outside its range, or is not one for a host to send', nextStep: 'send it again; if it stays, export the job and report it' },
  { number: 102, name: 'not armed', cause: 'a capture was asked for while the fixture was idle', nextStep: 'choose the tip to read first' },
  { number: 103, name: 'busy', cause: 'the fixture is armed, settling or testing itself', nextStep: 'finish or leave the reading first' },
  { number: 104, name: 'not settled', cause: 'no still window came within 30 s; detail: waiting reasons', nextStep: 'steady the blade and the cable, set a tilted clamp straight, then press again' },
  { number: 105, name: 'journal full', cause: 'too many captures wait for the host', nextStep: 'reconnect the host so that it can fetch them' },
  { number: 106, name: 'converter missing', cause: 'the distance converter does not answer', nextStep: 'unplug and plug in the fixture; if it stays, have it repaired' },
  { number: 107, name: 'motion part missing', cause: 'the motion part does not answer or has another identity', nextStep: 'unplug and plug in the fixture; if it stays, have it repaired' },
  { number: 108, name: 'memory missing', cause: 'the journal memory does not answer or does not keep its pattern', nextStep: 'unplug and plug in the fixture; if it stays, have it repaired' },
  { number: 109, name: 'no calibration', cause: 'no valid calibration is stored for this head position', nextStep: 'calibrate this head position on the height master' },
  { number: 110, name: 'calibration refused', cause: 'the knots are too few, too many or not rising, or a distance or the edge is outside its range', nextStep: 'repeat the calibration' },
  { number: 111, name: 'bus stuck', cause: 'a part holds the bus', nextStep: 'unplug and plug in the fixture' },
  { number: 112, name: 'crashed', cause: 'the program failed and was started again', nextStep: 'go on; captures are kept. If it comes again, export the job and report it' },
  { number: 113, name: 'laser without effect', cause: 'the reading does not change with the emitter', nextStep: 'clean the window; if it stays, have it repaired' },
  { number: 114, name: 'not confirmed', cause: 'the restart was asked for without its confirmation', nextStep: 'use the tool\'s own update command' },
  { number: 115, name: 'captures waiting', cause: 'captures wait for the host whose heights need the calibration that was to be replaced', nextStep: 'open the job that they belong to so that it can fetch them, then calibrate again' },
] as const satisfies readonly ErrorEntry[];

export type FixtureErrorName = (typeof FIXTURE_ERRORS)[number]['name'];
