/** The simulated USB cable: a binding for SerialPortStream at one end, the fixture at the other. */
import { SerialPortStream } from '@serialport/stream';

/** What waits for the host to read; beyond it the fixture is told that there is no room. */
const TO_HOST_BYTES_MAX = 8192;

export interface Cable {
  /** The fixture's end: false, and nothing is taken, without a host or without room. */
  send(bytes: readonly number[]): boolean;
  /** The fixture's end: up to `count` bytes that the host wrote. */
  receive(count: number): number[];
  /** Puts bytes on the line that nobody sent. */
  disturb(toHost: readonly number[], toFixture: readonly number[]): void;
  /** The fixture has gone: an open port hangs up, and none can be opened. */
  unplug(): void;
  plugIn(): void;
  /** Opens the host's end. Rejects like a real port when nothing is plugged in or it is open already. */
  open(): Promise<SerialPortStream>;
}

/** `onBytes` is called when the host has written. */
export function createCable(path: string, onBytes: () => void): Cable {
  let plugged = true;
  let port: HostEnd | undefined;
  let toFixture: number[] = [];

  const binding = {
    list: () => Promise.resolve(plugged ? [{ path }] : []),
    open: (options: Opening) => {
      if (!plugged)
        return Promise.reject(new Error(`Error: No such file or directory, cannot open ${options.path}`));
      if (port?.isOpen === true)
        return Promise.reject(new Error(`Error Resource temporarily unavailable Cannot lock port`));
      toFixture = [];
      port = createHostEnd(options, (bytes) => {
        for (const byte of bytes) toFixture.push(byte);
        onBytes();
      });
      return Promise.resolve(port);
    },
  };

  return {
    send: (bytes) => port !== undefined && port.isOpen && port.deliver(bytes),
    receive: (count) => toFixture.splice(0, count),
    disturb: (noiseToHost, noiseToFixture) => {
      port?.deliver(noiseToHost);
      for (const byte of noiseToFixture) toFixture.push(byte);
      onBytes();
    },
    unplug: () => {
      plugged = false;
      toFixture = [];
      port?.hangUp();
      port = undefined;
    },
    plugIn: () => {
      plugged = true;
    },
    open: () =>
      new Promise((resolve, reject) => {
        const stream = new SerialPortStream({ binding, path, baudRate: 115200, autoOpen: false });
        stream.open((error) => {
          if (error) reject(error);
          else resolve(stream);
        });
      }),
  };
}

/** What a port is opened with; only the path matters here. */
interface Opening {
  readonly path: string;
  readonly baudRate: number;
}

/**
 * What SerialPortStream asks of an open port (its documentation: "binding interface"), and the fixture's side of it. The
 * types of that package cannot be resolved under `moduleResolution: bundler`, so what is used of them stands here.
 */
interface HostEnd {
  readonly openOptions: Opening;
  readonly isOpen: boolean;
  /** Resolves with at least one byte; rejects with `canceled: true` when the port is closed. */
  read(buffer: Buffer, offset: number, length: number): Promise<{ buffer: Buffer; bytesRead: number }>;
  write(bytes: Buffer): Promise<void>;
  close(): Promise<void>;
  flush(): Promise<void>;
  update(): Promise<void>;
  set(): Promise<void>;
  drain(): Promise<void>;
  get(): Promise<{ cts: boolean; dsr: boolean; dcd: boolean }>;
  getBaudRate(): Promise<{ baudRate: number }>;
  deliver(bytes: readonly number[]): boolean;
  hangUp(): void;
}

function createHostEnd(options: Opening, onWrite: (bytes: Buffer) => void): HostEnd {
  let isOpen = true;
  let gone: Error | undefined;
  let waiting: number[] = [];
  let reader: { give(): void; refuse(error: Error): void } | undefined;

  function ended(): Error {
    return gone ?? Object.assign(new Error('Port is not open'), { canceled: true });
  }

  const idle = (): Promise<void> =>
    isOpen && gone === undefined ? Promise.resolve() : Promise.reject(ended());

  return {
    openOptions: options,
    get isOpen() {
      return isOpen;
    },
    deliver: (bytes) => {
      if (gone !== undefined || waiting.length + bytes.length > TO_HOST_BYTES_MAX) return false;
      for (const byte of bytes) waiting.push(byte);
      if (waiting.length > 0) reader?.give();
      return true;
    },
    hangUp: () => {
      gone = Object.assign(new Error('the device was unplugged'), { disconnect: true });
      reader?.refuse(gone);
    },
    read: (buffer, offset, length) =>
      new Promise((resolve, reject) => {
        if (!isOpen || gone !== undefined) {
          reject(ended());
          return;
        }
        const give = (): void => {
          reader = undefined;
          const bytesRead = Math.min(length, waiting.length);
          buffer.set(waiting.slice(0, bytesRead), offset);
          waiting = waiting.slice(bytesRead);
          resolve({ buffer, bytesRead });
        };
        const refuse = (error: Error): void => {
          reader = undefined;
          reject(error);
        };
        reader = { give, refuse };
        if (waiting.length > 0) give();
      }),
    write: (buffer) => {
      if (!isOpen || gone !== undefined) return Promise.reject(ended());
      onWrite(buffer);
      return Promise.resolve();
    },
    close: () => {
      isOpen = false;
      reader?.refuse(Object.assign(new Error('closed'), { canceled: true }));
      return Promise.resolve();
    },
    flush: () => {
      waiting = [];
      return idle();
    },
    update: idle,
    set: idle,
    drain: idle,
    get: () => idle().then(() => ({ cts: true, dsr: true, dcd: false })),
    getBaudRate: () => idle().then(() => ({ baudRate: options.baudRate })),
  };
}
