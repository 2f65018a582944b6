/**
 * Every error number of the host, with cause and next step: the same words on terminal, page and report. Numbers 100 to
 * 199 are the fixture's own (`protocol/wire/errors.ts`). A number is never given twice.
 */
import type { ErrorEntry } from '../../protocol/wire/errors';
import { visible } from './visible';

// One row on one line.
// prettier-ignore
export const HOST_ERRORS = [
  // 200: the link to the fixture
  { number: 201, name: 'no such port', cause: 'the port does not exist on this computer', nextStep: 'plug the fixture in and name the port again; `swathplane fixture` lists the ports' },
  { number: 202, name: 'port in use', cause: 'another program holds the port', nextStep: 'close the other program, then try again' },
  { number: 203, name: 'not a fixture', cause: 'what is on the port answers, but not as a fixture', nextStep: 'name the port that the fixture is on' },
  { number: 204, name: 'other protocol', cause: 'the fixture speaks another major version of the protocol', nextStep: 'update the older of the two: `swathplane fixture --update` makes the fixture ready for new firmware' },
  { number: 205, name: 'no answer', cause: 'the fixture did not answer in time', nextStep: 'check the cable; unplug the fixture and plug it in again' },
  { number: 206, name: 'cable pulled', cause: 'the connection to the fixture was lost', nextStep: 'plug the fixture in again; the job goes on where it was and no capture is lost' },
  { number: 207, name: 'no fixture found', cause: 'no port of this computer has a fixture on it', nextStep: 'plug the fixture in, or name its port with --port' },
  { number: 208, name: 'several fixtures', cause: 'more than one fixture is plugged in', nextStep: 'name one with --port' },
  { number: 209, name: 'garbage on the line', cause: 'bytes arrived that are no frames of this protocol', nextStep: 'check cable and plug; frames that were hurt are sent again' },
  { number: 210, name: 'fixture restarted', cause: 'the fixture started anew in the middle of the job', nextStep: 'go on: captures are kept; repeat the reading that was running' },
  { number: 211, name: 'height mismatch', cause: 'the fixture computed another height from its raw reading than the host does', nextStep: 'do not use this fixture; update host and firmware to the same version' },
  { number: 212, name: 'capture of another job', cause: 'the fixture held a capture that belongs to another job', nextStep: 'nothing to do: it is kept apart under its own job number and does not enter this result' },
  { number: 213, name: 'fixture refused', cause: 'the fixture reported an error', nextStep: 'do what its own number says' },
  { number: 214, name: 'another fixture', cause: 'another fixture is on the port than the one the connection began with', nextStep: 'plug the first fixture in again, or begin anew with this one' },
  { number: 215, name: 'port not permitted', cause: 'this user may not open the port', nextStep: 'ask for membership of the group that owns the port, then log in again' },
  { number: 216, name: 'fixture wanted', cause: 'the job needs a fixture that is not plugged in', nextStep: 'plug it in and go on with the job; if it is broken, say who has it in hand with `swathplane correct --off-the-machine`' },
  // 250: the ledger
  { number: 251, name: 'log locked', cause: 'another program is writing to this log: the page of this bay, or a job on a terminal', nextStep: 'end it first (Control-C where `swathplane serve` or `swathplane job` runs; an open job stays open and goes on the next time), or give this one a log of its own with --log' },
  { number: 252, name: 'log corrupt', cause: 'the log was changed or damaged after it was written', nextStep: 'keep the file, restore the last backup, and start a new log with --log' },
  { number: 253, name: 'log from a newer version', cause: 'a newer version of this tool wrote the log', nextStep: 'update this tool; the log was not touched' },
  { number: 254, name: 'disk full', cause: 'the log could not be written for want of space', nextStep: 'make room, then go on: what was acknowledged is on the disk, the fixture keeps the rest' },
  { number: 255, name: 'log not writable', cause: 'the log cannot be opened for writing', nextStep: 'check that the folder exists and may be written, or name another with --log' },
  { number: 256, name: 'no such job', cause: 'the log has no job of this number', nextStep: '`swathplane records` lists the jobs' },
  { number: 257, name: 'capture number used twice', cause: 'the fixture gave the number of an earlier capture to a different one', nextStep: "the new capture stays on the fixture, unacknowledged; use another fixture and have this one's journal memory looked at" },
  { number: 258, name: 'log from an older version', cause: 'the log was written before events were signed, by a version that was never released', nextStep: 'keep it for reading with that version, and start a new log with --log; it was not touched' },
  { number: 259, name: 'signing key missing', cause: 'the private key that signs the log cannot be read', nextStep: 'put the key file back beside the log; if it is lost, `swathplane keys --lost` goes on with a new one' },
  { number: 260, name: 'signing key does not fit', cause: 'the key file beside the log is not the key that signed its last events', nextStep: 'put the right key file back; if it is lost, `swathplane keys --lost` goes on with a new one' },
  { number: 261, name: 'export unreadable', cause: 'the file is not an exported job in the documented form', nextStep: 'ask for the file again; `host/ledger/FORMAT.md` describes it' },
  { number: 262, name: 'export does not verify', cause: 'the exported job was changed or damaged after it was signed', nextStep: '`swathplane verify` names what is wrong; ask for the file again' },
  { number: 263, name: 'file exists', cause: 'a file of this name exists and is not overwritten', nextStep: 'name another, or move the old one away' },
  { number: 264, name: 'photo not usable', cause: 'the file is neither a JPEG nor a PNG picture, or too large', nextStep: 'attach a JPEG or PNG of at most 20 MB' },
  { number: 265, name: 'nothing to delete', cause: 'the job holds nothing of this kind that is still kept', nextStep: '`swathplane records` shows what the job holds' },
  { number: 266, name: 'no such imported job', cause: 'no job was imported under this number', nextStep: '`swathplane records` lists imported jobs as F and a number' },
  { number: 267, name: 'own job', cause: 'the exported job is of this very log', nextStep: 'nothing to do: `swathplane records` shows it' },
  // 280: copies of all bays' logs in a database
  { number: 280, name: 'no copies server named', cause: 'no database is named that holds the copies of all bays', nextStep: 'name it with --database, or in the environment variable SWATHPLANE_DATABASE' },
  { number: 281, name: 'copies server unclear', cause: 'the name of the database is not in the form that is read', nextStep: 'write it as postgresql://user@host:5432/database' },
  { number: 282, name: 'copies not reachable', cause: 'the database with the copies does not answer', nextStep: 'go on working: the log of this bay is complete, and what is missing is copied when the database is back' },
  { number: 283, name: 'copies refused', cause: 'the database with the copies refuses what was asked of it', nextStep: 'have its user, password and rights looked at; the log of this bay is complete' },
  { number: 284, name: 'copies from a newer version', cause: 'a newer version of this tool laid out the database', nextStep: 'update this tool; the database was not touched' },
  { number: 285, name: 'copy differs', cause: 'the database holds another event under this writer and number: the log was changed or written anew, or two bays bear one name', nextStep: 'nothing was written over: check the log with `swathplane records --verify` and the copies with `swathplane copies --check`, compare both with a printed sheet, and give each bay a name of its own with --bay' },
  { number: 286, name: 'log behind its copy', cause: 'the log ends before its copy does: events were cut off, or an old file was put in its place', nextStep: 'do not go on with this log; restore it from a backup with `swathplane restore`, which keeps the numbers apart' },
  { number: 287, name: 'copies damaged', cause: 'a copy in the database was changed or damaged after it was written', nextStep: 'the log of its bay is what counts; keep the database as it is, and copy into a new one' },
  // 300: machine profiles
  { number: 301, name: 'profile unreadable', cause: 'the machine profile is not readable as JSON', nextStep: 'correct the file at the place named' },
  { number: 302, name: 'profile incomplete', cause: 'the machine profile lacks something or has it in the wrong form', nextStep: 'correct the fields named' },
  { number: 303, name: 'profile contradictory', cause: 'two statements of the machine profile cannot both be true', nextStep: 'measure again and correct one of the fields named' },
  { number: 304, name: 'blade not measurable', cause: 'swing blades hang loose and have no fixed height', nextStep: "this tool cannot level this machine; follow the maker's manual" },
  { number: 305, name: 'no such machine', cause: 'no profile has this name', nextStep: '`swathplane machines` lists the profiles; a file name works too' },
  { number: 306, name: 'dimensions incomplete', cause: 'the dimensions taken from the machine lack something or have it in the wrong form', nextStep: 'correct the dimensions named; `swathplane machines new --help` says what is measured from where' },
  { number: 307, name: 'machine name taken', cause: "a machine of this name is on the shop's shelf already", nextStep: 'give this one another name; the one on the shelf was left as it is' },
  { number: 311, name: 'checklist unreadable', cause: 'the checklist is not in the documented form', nextStep: 'correct the file at the place named; `swathplane checklist --schema` prints the form' },
  { number: 312, name: 'checklist contradictory', cause: 'two statements of the checklist cannot both be true', nextStep: 'correct the items named' },
  // 350: readings and what is computed from them
  { number: 351, name: 'readings unreadable', cause: 'the file of readings is not in the documented form', nextStep: 'correct the fields named; `swathplane solve --help` shows the form' },
  { number: 352, name: 'plane not determined', cause: 'the readings do not fix the plane of the deck', nextStep: 'read more tips: at least three that do not lie on one line' },
  // 400: the job and the command line
  { number: 401, name: 'cautions not confirmed', cause: 'measuring does not start before the cautions are confirmed', nextStep: 'read and confirm them' },
  { number: 402, name: 'fixture still on blade', cause: 'the job has no closing reading on the height master', nextStep: 'take the fixture off the blade, put it on its height master and take the closing reading: a fixture left on a blade flies off at start-up' },
  { number: 403, name: 'command not understood', cause: 'the command line has a word or a value that is not known', nextStep: '`swathplane --help` shows the commands' },
  { number: 404, name: 'file not writable', cause: 'the output file cannot be written', nextStep: 'check that the folder exists and may be written' },
  { number: 405, name: 'file not found', cause: 'the input file does not exist or may not be read', nextStep: 'check the name' },
  { number: 406, name: 'step out of order', cause: 'this cannot be done at this stage of the job', nextStep: 'do what the job asks for next' },
  { number: 407, name: 'job left open', cause: 'the job was left before its end', nextStep: 'go on with `swathplane job --resume` and its number' },
  { number: 408, name: 'nothing to correct', cause: 'what is to be corrected does not stand like that in the job', nextStep: '`swathplane records` shows the job' },
  { number: 409, name: 'name wanted', cause: 'this is written down under the name of whoever does it', nextStep: 'say who with --technician or --by' },
  { number: 410, name: 'badge not known', cause: 'the badge or PIN is not one that can be used here', nextStep: 'scan it again, or register it with `swathplane people add`' },
  // 450: the bay
  { number: 451, name: 'bay unreadable', cause: 'the bay file is not readable as JSON', nextStep: 'correct the file at the place named' },
  { number: 452, name: 'bay incomplete', cause: 'the bay file lacks something or has it in the wrong form', nextStep: 'correct the fields named; `swathplane bay survey --help` shows the form' },
  { number: 453, name: 'survey not checked', cause: 'nothing in the survey checks it: a wrong reading would not show', nextStep: 'read every point from a second set-up of the level, or walk the steps back as well' },
  { number: 454, name: 'survey does not close', cause: 'the readings of the survey disagree by more than the instrument explains', nextStep: 'repeat the readings named, or state the uncertainty that the instrument really has' },
  { number: 455, name: 'point not reached', cause: 'the survey has points that no reading connects with the others', nextStep: 'read the points named from a set-up that reads others too' },
  { number: 456, name: 'no such bay', cause: 'the log has no survey of a bay of this name', nextStep: '`swathplane bay survey` puts one in; `swathplane bay show` lists them' },
  { number: 457, name: 'no turn-round', cause: 'these two jobs do not show one machine on one bay facing both ways', nextStep: 'measure one machine, drive it out, stand it on the same spots facing the other way, seat its deck anew and measure it again, without turning an adjuster in between' },
  { number: 458, name: 'caster checks do not tell', cause: 'the two checks give no shim', nextStep: 'repeat with a thicker shim under one caster, and pull each caster three times' },
  // 470: instruments and what is known of them
  { number: 470, name: 'study unreadable', cause: 'the file of the study is not in the form that is read', nextStep: 'correct the line named; columns are part, operator, trial, value, with a header when in another order' },
  { number: 471, name: 'decimal sign unclear', cause: 'the numbers of the file can be read in more than one way', nextStep: 'write numbers with a point and columns with a comma, or numbers with a comma and columns with a semicolon, the same in all lines' },
  { number: 472, name: 'study not balanced', cause: 'not every operator has measured every part equally often, so that the shares cannot be told apart', nextStep: 'take or add the readings named, or leave the part or operator out' },
  { number: 473, name: 'study too small', cause: 'the study has too few parts, operators or trials for this method', nextStep: 'add what is named' },
  { number: 474, name: 'chart unreadable', cause: 'the file of values is not in the form that is read', nextStep: 'correct the line named; one value, or one subgroup of equal size, on every line' },
  { number: 475, name: 'no such session', cause: 'the log has no study, calibration or check of this number', nextStep: '`swathplane study --list`, `swathplane calibrate --list` and `swathplane check --list` list them' },
  { number: 476, name: 'study not accepted', cause: 'the study cannot set how alike two clampings are taken to be', nextStep: 'finish it, or repeat it with more tips, technicians or repeats, as named' },
  { number: 477, name: 'equipment unreadable', cause: 'the entry of the reference equipment lacks something or has it in the wrong form', nextStep: 'correct the fields named; `swathplane equipment add --help` shows the form' },
  { number: 478, name: 'no such equipment', cause: 'the register has no reference equipment of this name', nextStep: '`swathplane equipment` lists the register' },
  { number: 479, name: 'reference overdue', cause: 'a reference that this needs is past its date or not in the register', nextStep: 'have it calibrated and enter its certificate with `swathplane equipment add`' },
  { number: 480, name: 'calibration not good enough', cause: 'the calibration is worse than its limit and was not written; the old one stands', nextStep: 'look at the readings named, clean plate, lips and blocks, and repeat the calibration' },
  { number: 481, name: 'calibration not stored', cause: 'the fixture did not keep the calibration that was written', nextStep: 'run `swathplane fixture --self-test`; the old calibration stands as long as the fixture says so' },
  { number: 482, name: 'session of another fixture', cause: 'the session was begun with another fixture than the one on the port', nextStep: 'plug that fixture in, or begin a new session' },
  { number: 483, name: 'session left open', cause: 'the session was left before its end', nextStep: 'go on with --resume and its number; what was read is kept' },
  { number: 484, name: 'no first calibration', cause: 'a head position of the fixture holds no calibration to begin from', nextStep: 'give what its sensor gives the converter at the near and at the far end of its span, in volts: `swathplane calibrate --volts 0.6,3`' },
  { number: 499, name: 'fault in the tool', cause: 'the tool itself failed', nextStep: 'everything acknowledged is on the disk; start again, and report the text with the version' },
  // 500: the page and its server
  { number: 501, name: 'not paired', cause: 'this screen may not be used with this bay yet', nextStep: 'type the pairing code that the computer of the bay shows' },
  { number: 502, name: 'pairing refused', cause: 'the pairing code is not the one that the computer of the bay shows', nextStep: 'read it again and type it; after some wrong codes a new one is shown' },
  { number: 503, name: 'other host', cause: 'the page was asked for under a name that is not this computer’s', nextStep: 'use the address that `swathplane serve` has printed' },
  { number: 504, name: 'other origin', cause: 'another page tried to use this one', nextStep: 'close it, and open the page by the address that `swathplane serve` has printed' },
  { number: 505, name: 'request too large', cause: 'more was sent than any answer or machine needs', nextStep: 'shorten it' },
  { number: 506, name: 'too many requests', cause: 'one screen asked more often than a person can', nextStep: 'wait some seconds and try again' },
  { number: 507, name: 'no such page', cause: 'there is nothing under this address', nextStep: 'go back to the beginning of the page' },
  { number: 509, name: 'request not understood', cause: 'what was sent has not the form that is read', nextStep: 'load the page again' },
  { number: 510, name: 'already answered', cause: 'this question has been answered, here or on another screen', nextStep: 'go on with what is asked now; nothing was entered twice' },
  { number: 511, name: 'bay busy', cause: 'other work is in hand at this bay', nextStep: 'finish it or lay it aside first' },
  { number: 512, name: 'address in use', cause: 'another program answers at this address already', nextStep: 'close it, or choose another with --page-port' },
  { number: 513, name: 'too many screens', cause: 'more screens show this bay than it serves at a time', nextStep: 'close the page where nobody looks at it: this screen comes in by itself then' },
] as const satisfies readonly ErrorEntry[];

export type HostErrorName = (typeof HOST_ERRORS)[number]['name'];

/** An error with number, cause and next step. `about` says which port, file, field or value, and may quote what was read. */
export class NumberedError extends Error {
  readonly number: number;
  readonly nextStep: string;
  readonly about: string;

  constructor(
    readonly entry: ErrorEntry,
    about: string = '',
    options?: { cause?: unknown },
  ) {
    const seen = visible(about);
    super(`E${entry.number}: ${entry.cause}${seen === '' ? '' : ` (${seen})`}. ${entry.nextStep}.`, options);
    this.name = 'NumberedError';
    this.about = seen;
    this.number = entry.number;
    this.nextStep = entry.nextStep;
  }
}

/** The error called `name`, ready to be thrown or kept as a value. */
export function numberedError(name: HostErrorName, about = '', cause?: unknown): NumberedError {
  const entry = HOST_ERRORS.find((e) => e.name === name);
  if (entry === undefined) throw new Error(`no error is called ${name}`);
  return new NumberedError(entry, about, cause === undefined ? undefined : { cause });
}
