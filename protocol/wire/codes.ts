/** The coded values that message fields carry. Each table is printed in the specification and held against it. */

export interface Code {
  readonly value: number;
  readonly name: string;
  readonly meaning: string;
}

/** What the fixture is doing. */
export const PHASES = [
  { value: 0, name: 'starting', meaning: 'parts are being set up' },
  { value: 1, name: 'idle', meaning: 'laser off' },
  { value: 2, name: 'armed', meaning: 'laser on, waiting for a trigger' },
  { value: 3, name: 'settling', meaning: 'triggered, waiting for a still window' },
  { value: 4, name: 'fault', meaning: 'laser off until the cause is gone' },
] as const satisfies readonly Code[];

/** Why a capture waits: bit numbers of `live.waiting`. */
export const WAITING = [
  { value: 0, name: 'moving', meaning: 'the motion part feels movement' },
  { value: 1, name: 'drifting', meaning: 'the distance runs away slowly' },
  { value: 2, name: 'out of range', meaning: 'the spot is nearer or farther than the calibration covers' },
  { value: 3, name: 'tilted', meaning: 'the beam is more than 15 degrees from straight down' },
  { value: 4, name: 'glare', meaning: 'the distance jumps: wet, shiny or dark floor' },
  { value: 5, name: 'warming', meaning: 'the sensor has not been on long enough' },
  {
    value: 6,
    name: 'gathering',
    meaning: 'there is no mean of at least 16 still samples yet that is as good as asked',
  },
] as const satisfies readonly Code[];

/** What a capture is for. */
export const PURPOSES = [
  { value: 0, name: 'tip', meaning: 'a blade tip' },
  { value: 1, name: 'master low', meaning: 'the low edge of the height master' },
  { value: 2, name: 'master high', meaning: 'the high edge of the height master' },
] as const satisfies readonly Code[];

export const RESET_CAUSES = [
  { value: 0, name: 'power', meaning: 'power came on' },
  { value: 1, name: 'asked', meaning: 'a restart was asked for' },
  { value: 2, name: 'watchdog', meaning: 'the program stood still' },
  { value: 3, name: 'crash', meaning: 'the program failed; error 112 stands until the next arm' },
] as const satisfies readonly Code[];

/** Bit numbers of the self test's fields. */
export const SELF_TESTS = [
  { value: 0, name: 'converter', meaning: 'answers and converts' },
  { value: 1, name: 'motion part', meaning: 'answers with its identity and feels 1 g' },
  { value: 2, name: 'memory', meaning: 'keeps a pattern' },
  { value: 3, name: 'laser', meaning: 'the reading changes when the emitter is driven' },
  { value: 4, name: 'calibration', meaning: 'both head positions hold one with a good checksum' },
] as const satisfies readonly Code[];

export const HAPPENINGS = [
  { value: 0, name: 'button', meaning: 'pressed while it does nothing; value: ms held' },
  { value: 1, name: 'laser off: idle', meaning: 'armed too long without use; value: s' },
  {
    value: 2,
    name: 'laser off: tilt',
    meaning: 'the beam left straight down by more than 30 degrees; value: 0.01 deg',
  },
  { value: 3, name: 'knocked', meaning: 'a jolt since the last capture; value: mg' },
] as const satisfies readonly Code[];

/** Lamp patterns: colour and blink together, so that colour is never the only sign. */
export const LAMPS = [
  { value: 0, name: 'off', meaning: 'dark' },
  { value: 1, name: 'waiting', meaning: 'amber, slow blink' },
  { value: 2, name: 'settled', meaning: 'green, steady' },
  { value: 3, name: 'captured', meaning: 'green, three quick blinks' },
  { value: 4, name: 'check', meaning: 'blue, double blink' },
  { value: 5, name: 'fault', meaning: 'red, fast blink' },
] as const satisfies readonly Code[];
