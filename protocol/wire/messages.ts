/**
 * The message table of protocol version 1: the one typed source from which the codec, the specification's tables and
 * the table hash come.
 *
 * Rules that never change: ids are never reused; fields are only appended; a receiver ignores bytes after the fields
 * that it knows. Everything is an integer with a unit, so that a peer in any language needs no floating point and the
 * host can recompute the fixture's heights to the bit.
 */

/** How a field is laid out, little endian. `text` is a length byte and UTF-8; `i32list` a count byte and i32 values. */
export type FieldType = 'u8' | 'u16' | 'u32' | 'i16' | 'i32' | 'text' | 'i32list';

export interface Field {
  readonly name: string;
  readonly type: FieldType;
  /** Unit or coding of the value, for the specification. */
  readonly unit: string;
  readonly meaning: string;
}

export interface MessageDefinition {
  readonly id: number;
  readonly name: string;
  /** Which side sends it. */
  readonly from: 'host' | 'fixture';
  /** A request is answered by one reply with the same sequence number (or by `error`); a notice is one way. */
  readonly kind: 'request' | 'reply' | 'notice';
  /** For a request: the name of its reply. */
  readonly answeredBy?: string;
  readonly since: '1.0';
  /** True for the core that stays as it is in every future major version. */
  readonly frozen?: true;
  readonly meaning: string;
  readonly fields: readonly Field[];
}

export const PROTOCOL_MAJOR = 1;
export const PROTOCOL_MINOR = 0;

/**
 * One number for the whole table below, so that two peers can tell whether they were built from the same one: CRC-32C of
 * its canonical text (SPEC.md, appendix A). Written out, since the fixture would need 0.2 s to compute it; a test does.
 */
export const TABLE_HASH = 0xfe3083a3;

/** The value that `reboot-to-update` must carry: the ASCII letters UPDT, first letter lowest. */
export const REBOOT_CONFIRMATION = 0x54445055;

// One row on one line.
// prettier-ignore
const calibrationFields = [
  { name: 'headPosition', type: 'u8', unit: '0 low, 1 high', meaning: 'pinned position of the head that this calibration belongs to' },
  { name: 'version', type: 'u32', unit: 'count', meaning: 'number of this calibration, one higher at every write' },
  { name: 'setOnDay', type: 'u32', unit: 'days since 1970-01-01', meaning: 'day of the calibration, as the host told it' },
  { name: 'beamX', type: 'i32', unit: '1e-9', meaning: 'unit vector along the beam, in the fixture frame, x' },
  { name: 'beamY', type: 'i32', unit: '1e-9', meaning: 'the same, y' },
  { name: 'beamZ', type: 'i32', unit: '1e-9', meaning: 'the same, z' },
  { name: 'edgeX', type: 'i32', unit: 'um', meaning: 'cutting-edge reference point from the origin of the distance, fixture frame, x' },
  { name: 'edgeY', type: 'i32', unit: 'um', meaning: 'the same, y' },
  { name: 'edgeZ', type: 'i32', unit: 'um', meaning: 'the same, z' },
  { name: 'gravityBiasX', type: 'i32', unit: 'ug', meaning: 'what the motion part shows too much along x; from the turn-over test' },
  { name: 'gravityBiasY', type: 'i32', unit: 'ug', meaning: 'the same, y' },
  { name: 'gravityBiasZ', type: 'i32', unit: 'ug', meaning: 'the same, z' },
  { name: 'temperatureReference', type: 'i16', unit: '0.01 degC', meaning: 'temperature at which the knots hold' },
  { name: 'temperatureGain', type: 'i32', unit: '1e-9 / degC', meaning: 'relative change of the distance per degree above the reference' },
  { name: 'knots', type: 'i32list', unit: 'counts x 256, um, ...', meaning: 'linearisation: pairs of converter reading and distance, rising in the reading, 2 to 16 pairs' },
] as const satisfies readonly Field[];

// One row on one line.
// prettier-ignore
export const MESSAGES = [
  // ---- frozen core ---------------------------------------------------------------------------------------------
  { id: 0x01, name: 'identify', from: 'host', kind: 'request', answeredBy: 'identity', since: '1.0', frozen: true,
    meaning: 'asks who is there; answered in every state and by every version', fields: [] },
  { id: 0x02, name: 'identity', from: 'fixture', kind: 'reply', since: '1.0', frozen: true,
    meaning: 'who is there',
    fields: [
      { name: 'protocolMajor', type: 'u8', unit: 'count', meaning: 'another major: only the frozen core may be used' },
      { name: 'protocolMinor', type: 'u8', unit: 'count', meaning: 'messages with a later `since` are unknown to the fixture' },
      { name: 'tableHash', type: 'u32', unit: 'CRC-32C', meaning: 'checksum of the message table in canonical text' },
      { name: 'numberBits', type: 'u8', unit: 'bit', meaning: 'width of the fixture\'s floating point numbers' },
      { name: 'bootCount', type: 'u32', unit: 'count', meaning: 'starts of this fixture since it was made' },
      { name: 'firmwareVersion', type: 'text', unit: 'semver', meaning: 'version of the firmware' },
      { name: 'board', type: 'text', unit: '-', meaning: 'class of board the firmware was built for' },
      { name: 'fixtureId', type: 'text', unit: '-', meaning: 'name of this fixture, unique in the shop' },
    ] },
  { id: 0x03, name: 'error', from: 'fixture', kind: 'reply', since: '1.0', frozen: true,
    meaning: 'the request could not be done; with sequence number 0, a fault that no request caused',
    fields: [
      { name: 'code', type: 'u16', unit: 'error number', meaning: 'see the table of error numbers' },
      { name: 'aboutMessage', type: 'u8', unit: 'message id', meaning: 'id of the request, 0 for none' },
      { name: 'detail', type: 'i32', unit: 'as the code says', meaning: 'one number more about the cause' },
    ] },
  { id: 0x04, name: 'reboot-to-update', from: 'host', kind: 'request', answeredBy: 'rebooting', since: '1.0', frozen: true,
    meaning: 'asks the fixture to restart ready for new firmware',
    fields: [{ name: 'confirmation', type: 'u32', unit: 'constant 0x54445055', meaning: 'guards against a stray request' }] },
  { id: 0x05, name: 'rebooting', from: 'fixture', kind: 'reply', since: '1.0', frozen: true,
    meaning: 'sent just before the restart', fields: [] },
  // ---- state and self test -------------------------------------------------------------------------------------
  { id: 0x10, name: 'report-status', from: 'host', kind: 'request', answeredBy: 'status', since: '1.0',
    meaning: 'asks for the fixture\'s state; doubles as the sign of life', fields: [] },
  { id: 0x11, name: 'status', from: 'fixture', kind: 'reply', since: '1.0', meaning: 'the fixture\'s state',
    fields: [
      { name: 'uptimeMs', type: 'u32', unit: 'ms', meaning: 'time since start, wraps' },
      { name: 'phase', type: 'u8', unit: 'phase', meaning: 'see the table of phases' },
      { name: 'faults', type: 'u32', unit: 'bit set', meaning: 'bit n is set while error number 100 + n stands' },
      { name: 'unacknowledged', type: 'u16', unit: 'count', meaning: 'captures kept in the journal' },
      { name: 'journalFree', type: 'u16', unit: 'count', meaning: 'captures that still fit' },
      { name: 'resetCause', type: 'u8', unit: 'reset cause', meaning: 'why the fixture last started, see the table of reset causes' },
      { name: 'headPosition', type: 'u8', unit: '0 low, 1 high', meaning: 'from the contact' },
      { name: 'temperature', type: 'i16', unit: '0.01 degC', meaning: 'at the sensor head' },
      { name: 'laserOn', type: 'u8', unit: '0 or 1', meaning: 'emitter drive' },
    ] },
  { id: 0x12, name: 'self-test', from: 'host', kind: 'request', answeredBy: 'self-test-report', since: '1.0',
    meaning: 'tests converter, motion part, journal memory, laser drive and range; refused while armed', fields: [] },
  { id: 0x13, name: 'self-test-report', from: 'fixture', kind: 'reply', since: '1.0', meaning: 'what the self test found',
    fields: [
      { name: 'tested', type: 'u32', unit: 'bit set', meaning: 'see the table of self-test bits' },
      { name: 'failed', type: 'u32', unit: 'bit set', meaning: 'subset of `tested`' },
      { name: 'counts', type: 'i32', unit: 'counts', meaning: 'converter reading with the laser on' },
      { name: 'gravity', type: 'i32', unit: 'ug', meaning: 'size of the measured gravity, 1 g = 1 000 000' },
    ] },
  // ---- calibration ---------------------------------------------------------------------------------------------
  { id: 0x14, name: 'read-calibration', from: 'host', kind: 'request', answeredBy: 'calibration', since: '1.0',
    meaning: 'asks for the calibration of one head position',
    fields: [{ name: 'headPosition', type: 'u8', unit: '0 low, 1 high', meaning: 'which one' }] },
  { id: 0x15, name: 'calibration', from: 'fixture', kind: 'reply', since: '1.0',
    meaning: 'a calibration as stored', fields: calibrationFields },
  { id: 0x16, name: 'write-calibration', from: 'host', kind: 'request', answeredBy: 'calibration-written', since: '1.0',
    meaning: 'replaces the calibration of one head position; double buffered; refused while armed', fields: calibrationFields },
  { id: 0x17, name: 'calibration-written', from: 'fixture', kind: 'reply', since: '1.0', meaning: 'stored and read back',
    fields: [{ name: 'version', type: 'u32', unit: 'count', meaning: 'the version now in force' }] },
  // ---- measuring -----------------------------------------------------------------------------------------------
  { id: 0x20, name: 'arm', from: 'host', kind: 'request', answeredBy: 'armed', since: '1.0',
    meaning: 'makes ready for captures of one step of one job: laser on, live notices, button live; arming again changes the step',
    fields: [
      { name: 'job', type: 'u32', unit: 'count', meaning: 'the host\'s job number' },
      { name: 'step', type: 'u16', unit: 'count', meaning: 'the host\'s number for what is to be read, unique in the job' },
      { name: 'purpose', type: 'u8', unit: 'purpose', meaning: 'see the table of purposes' },
      { name: 'liveHz', type: 'u8', unit: 'Hz', meaning: 'live notices a second, 0 to 50' },
      { name: 'standardErrorUm', type: 'u16', unit: 'um', meaning: 'a capture ends when its mean is this good' },
    ] },
  { id: 0x21, name: 'armed', from: 'fixture', kind: 'reply', since: '1.0', meaning: 'ready',
    fields: [{ name: 'nextCapture', type: 'u32', unit: 'count', meaning: 'number that the next capture will get' }] },
  { id: 0x22, name: 'capture', from: 'host', kind: 'request', answeredBy: 'capturing', since: '1.0',
    meaning: 'the same as pressing the button: capture as soon as the reading has settled', fields: [] },
  { id: 0x23, name: 'capturing', from: 'fixture', kind: 'reply', since: '1.0',
    meaning: 'accepted; the capture follows as a `captured` notice, or an `error` notice says why not', fields: [] },
  { id: 0x24, name: 'disarm', from: 'host', kind: 'request', answeredBy: 'disarmed', since: '1.0',
    meaning: 'laser off, no live notices, button dead', fields: [] },
  { id: 0x25, name: 'disarmed', from: 'fixture', kind: 'reply', since: '1.0', meaning: 'done', fields: [] },
  { id: 0x26, name: 'resend', from: 'host', kind: 'request', answeredBy: 'resending', since: '1.0',
    meaning: 'asks for every capture that is not acknowledged, oldest first', fields: [] },
  { id: 0x27, name: 'resending', from: 'fixture', kind: 'reply', since: '1.0', meaning: 'that many `captured` notices follow',
    fields: [{ name: 'count', type: 'u16', unit: 'count', meaning: 'captures in the journal' }] },
  { id: 0x28, name: 'acknowledge', from: 'host', kind: 'request', answeredBy: 'acknowledged', since: '1.0',
    meaning: 'the capture is safe on the host\'s disk: the fixture may forget it. Acknowledging twice is no error',
    fields: [{ name: 'capture', type: 'u32', unit: 'count', meaning: 'number of the capture' }] },
  { id: 0x29, name: 'acknowledged', from: 'fixture', kind: 'reply', since: '1.0', meaning: 'forgotten',
    fields: [{ name: 'unacknowledged', type: 'u16', unit: 'count', meaning: 'captures still in the journal' }] },
  { id: 0x2a, name: 'captured', from: 'fixture', kind: 'notice', since: '1.0',
    meaning: 'a capture, kept in the journal until acknowledged; sent again on `resend`',
    fields: [
      { name: 'capture', type: 'u32', unit: 'count', meaning: 'number of the capture, never used twice by this fixture' },
      { name: 'bootCount', type: 'u32', unit: 'count', meaning: 'in which start it was taken' },
      { name: 'uptimeMs', type: 'u32', unit: 'ms', meaning: 'when in that start' },
      { name: 'job', type: 'u32', unit: 'count', meaning: 'as armed' },
      { name: 'step', type: 'u16', unit: 'count', meaning: 'as armed' },
      { name: 'purpose', type: 'u8', unit: 'purpose', meaning: 'as armed' },
      { name: 'trigger', type: 'u8', unit: '0 host, 1 button', meaning: 'what asked for it' },
      { name: 'headPosition', type: 'u8', unit: '0 low, 1 high', meaning: 'from the contact' },
      { name: 'calibrationVersion', type: 'u32', unit: 'count', meaning: 'calibration in force' },
      { name: 'samples', type: 'u16', unit: 'count', meaning: 'samples in the still window' },
      { name: 'countsMean', type: 'i32', unit: 'counts x 256', meaning: 'mean of the despiked converter readings' },
      { name: 'countsSd', type: 'u32', unit: 'counts x 256', meaning: 'standard deviation of one sample' },
      { name: 'drift', type: 'i32', unit: 'um/s', meaning: 'slope of the distance over the window' },
      { name: 'gravityX', type: 'i32', unit: 'ug', meaning: 'mean specific force as measured, before the bias is taken off, fixture frame, x; at rest it points up' },
      { name: 'gravityY', type: 'i32', unit: 'ug', meaning: 'the same, y' },
      { name: 'gravityZ', type: 'i32', unit: 'ug', meaning: 'the same, z' },
      { name: 'turned', type: 'i32', unit: '0.01 deg', meaning: 'turn about the vertical since the capture before, counter-clockwise seen from above' },
      { name: 'temperature', type: 'i16', unit: '0.01 degC', meaning: 'at the sensor head' },
      { name: 'waitedMs', type: 'u16', unit: 'ms', meaning: 'from the trigger to the end of the still window' },
      { name: 'distance', type: 'i32', unit: 'um', meaning: 'linearised distance along the beam' },
      { name: 'height', type: 'i32', unit: 'um', meaning: 'height of the cutting edge above the spot, from distance and gravity' },
    ] },
  { id: 0x2b, name: 'live', from: 'fixture', kind: 'notice', since: '1.0', meaning: 'what the fixture sees now, while armed',
    fields: [
      { name: 'uptimeMs', type: 'u32', unit: 'ms', meaning: 'time since start' },
      { name: 'phase', type: 'u8', unit: 'phase', meaning: 'see the table of phases' },
      { name: 'waiting', type: 'u16', unit: 'bit set', meaning: 'why a capture would wait, see the table of waiting reasons; 0: settled' },
      { name: 'counts', type: 'i32', unit: 'counts x 256', meaning: 'newest despiked converter reading' },
      { name: 'distance', type: 'i32', unit: 'um', meaning: 'linearised' },
      { name: 'height', type: 'i32', unit: 'um', meaning: 'height of the cutting edge above the spot' },
      { name: 'tilt', type: 'u16', unit: '0.01 deg', meaning: 'angle of the beam from straight down' },
      { name: 'turned', type: 'i32', unit: '0.01 deg', meaning: 'turn about the vertical since the last capture' },
      { name: 'standardErrorUm', type: 'u16', unit: 'um', meaning: 'of the mean that a capture would give now' },
    ] },
  { id: 0x2c, name: 'happened', from: 'fixture', kind: 'notice', since: '1.0', meaning: 'something the technician or the watch-keeping did',
    fields: [
      { name: 'what', type: 'u8', unit: 'happening', meaning: 'see the table of happenings' },
      { name: 'value', type: 'i32', unit: 'as the happening says', meaning: 'one number more' },
    ] },
  { id: 0x30, name: 'show', from: 'host', kind: 'request', answeredBy: 'shown', since: '1.0',
    meaning: 'sets the lamp from the host until the next arm, capture or fault',
    fields: [{ name: 'pattern', type: 'u8', unit: 'lamp pattern', meaning: 'see the table of lamp patterns' }] },
  { id: 0x31, name: 'shown', from: 'fixture', kind: 'reply', since: '1.0', meaning: 'done', fields: [] },
] as const satisfies readonly MessageDefinition[];

// ---- types derived from the table ------------------------------------------------------------------------------

type Row = (typeof MESSAGES)[number];
export type MessageName = Row['name'];
type ValueOf<T extends FieldType> = T extends 'text' ? string : T extends 'i32list' ? number[] : number;
type RowOf<N extends MessageName> = Extract<Row, { name: N }>;

/** The fields of message `N` as an object. */
export type Body<N extends MessageName> = {
  [F in RowOf<N>['fields'][number] as F['name']]: ValueOf<F['type']>;
};

export type RequestName = Extract<Row, { kind: 'request' }>['name'];
export type NoticeName = Extract<Row, { kind: 'notice' }>['name'];
/** The reply that answers request `N`. */
export type ReplyTo<N extends RequestName> = Extract<RowOf<N>, { kind: 'request' }>['answeredBy'];

/** One message with its sequence number, as the codec takes and gives it. */
export type Message = { [N in MessageName]: { name: N; sequence: number; body: Body<N> } }[MessageName];
