/** The wire protocol: what a peer needs to talk to a fixture or to be one. Runs as JavaScript and as Lua. */
export { cobsDecode, cobsEncode } from './cobs';
export { crc32c } from './crc32c';
export { FRAME_BYTES_MAX, createFrameReader, encodeFrame } from './frame';
export type { FrameReader, Received } from './frame';
export * from './codes';
export * from './errors';
export * from './messages';
