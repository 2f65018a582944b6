import { readdir } from 'node:fs/promises';
import type { Duplex } from 'node:stream';
import type { SerialPort } from 'serialport';
import { NumberedError, numberedError } from '../errors/errors';
import { portHolder } from './port-holder';

/** A serial port of this computer. */
export interface ListedPort {
  readonly path: string;
  /** What the system says about the device behind it, as far as it says anything. */
  readonly maker?: string;
  readonly serialNumber?: string;
}

/** What the serial library says about a port; its own type for this does not reach us through its package. */
interface SystemPort {
  readonly path: string;
  readonly manufacturer?: string;
  readonly serialNumber?: string;
}

const BAUD_RATE = 115_200;

/**
 * Opens a serial port raw, 115200 baud, 8 data bits, no parity, 1 stop bit, locked for this program alone. Any path
 * works, also one that `listPorts` does not show. Rejects with E201 (no such port), E202 (in use, naming the holder
 * where the system tells it) or E215 (not permitted).
 */
export async function openSerialPort(path: string): Promise<SerialPort> {
  // Loaded here, because commands that need no port should not wait for the native part.
  const { SerialPort } = await import('serialport');
  const port = new SerialPort({
    path,
    baudRate: BAUD_RATE,
    dataBits: 8,
    parity: 'none',
    stopBits: 1,
    lock: true,
    autoOpen: false,
  });
  const opened = () =>
    new Promise<void>((resolve, reject) => {
      port.open((error) => (error === null || error === undefined ? resolve() : reject(error)));
    });
  await openNumbered(opened, path);
  await showThatWeListen(port);
  return port;
}

/**
 * The ports that the system lists. Pseudo-terminals never are among them. Where the device service that lists them is
 * missing (containers), USB ports are read from the device folder instead.
 */
export async function listPorts(): Promise<ListedPort[]> {
  const { SerialPort } = await import('serialport');
  try {
    const listed = (await SerialPort.list()) as readonly SystemPort[];
    return listed.map(({ path, manufacturer, serialNumber }) => ({
      path,
      ...(manufacturer === undefined ? {} : { maker: manufacturer }),
      ...(serialNumber === undefined ? {} : { serialNumber }),
    }));
  } catch (cause) {
    if (process.platform !== 'linux') throw cause;
    const names = await readdir('/dev');
    return names.filter((name) => /^tty(ACM|USB)\d+$/.test(name)).map((name) => ({ path: `/dev/${name}` }));
  }
}

/** Opens something and gives its refusal as a numbered error: the serial library has words only, of the system. */
export async function openNumbered<T>(open: () => Promise<T>, path: string): Promise<T> {
  try {
    return await open();
  } catch (cause) {
    throw cause instanceof NumberedError ? cause : await whyNotOpened(path, cause);
  }
}

/** Closes a stream, resolving when the port behind it can be opened again. Never rejects: there is nothing left to do. */
export async function closeStream(stream: Duplex): Promise<void> {
  stream.on('error', () => {});
  if (isPort(stream)) {
    if (stream.isOpen) await new Promise<void>((resolve) => stream.close(() => resolve()));
    else if (stream.closing) await new Promise<void>((resolve) => stream.once('close', () => resolve()));
    stream.destroy();
  } else if (!stream.closed) {
    await new Promise<void>((resolve) => {
      stream.once('close', () => resolve());
      stream.destroy();
    });
  }
}

type Port = Duplex & Pick<SerialPort, 'isOpen' | 'closing' | 'close'>;

function isPort(stream: Duplex): stream is Port {
  return 'isOpen' in stream && 'closing' in stream;
}

/** Raises the lines that tell a USB device that a program listens. A pseudo-terminal has none, and nobody misses them. */
function showThatWeListen(port: SerialPort): Promise<void> {
  return new Promise((resolve) => port.set({ dtr: true, rts: true }, () => resolve()));
}

async function whyNotOpened(path: string, cause: unknown): Promise<NumberedError> {
  const text = cause instanceof Error ? cause.message : String(cause);
  if (/cannot lock port|access denied|resource busy/i.test(text)) {
    const holder = await portHolder(path);
    return numberedError('port in use', holder === undefined ? path : `${path}, held by ${holder}`, cause);
  }
  if (/permission denied|not permitted/i.test(text)) return numberedError('port not permitted', path, cause);
  if (/inappropriate ioctl|is a directory/i.test(text))
    return numberedError('no such port', `${path} is no serial port`, cause);
  if (/no such|file not found/i.test(text)) return numberedError('no such port', path, cause);
  return numberedError('no such port', `${path}: ${text}`, cause);
}
