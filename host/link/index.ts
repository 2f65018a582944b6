/** The connection to a fixture: find the port, open it, stay connected, take every capture in exactly once. */
export { findFixture, surveyPorts } from './find-fixture';
export type { FoundFixture, PortFinding, SearchOptions } from './find-fixture';
export { fixtureError } from './fixture-error';
export { identifyPort, rebootToUpdate } from './handshake';
export type { Identity, PortOptions } from './handshake';
export type { Keep, Kept } from './intake';
export { openLink } from './link';
export type { Link, LinkOptions } from './link';
export type { Listeners, Notices } from './notices';
export { listPorts, openSerialPort } from './ports';
export type { ListedPort } from './ports';
export { systemTimers, usualTiming } from './timers';
export type { Timers, Timing } from './timers';
