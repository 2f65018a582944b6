/**
 * The computer's end of the USB cable, as far as a serial port needs it: finds out what the device is (USB 2.0, chapter 9),
 * configures it, opens and closes its port (control line state), and carries bytes both ways. It knows only what the
 * device tells it about itself.
 */
import type { RPUSBController } from 'rp2040js';

export interface UsbHost {
  /** What the device said about itself, once it is configured. */
  readonly device: Device | undefined;
  /** Opens or closes the port; nothing passes while it is closed. */
  setOpen(open: boolean): void;
  /** Bytes for the device, which takes them when it can. */
  send(bytes: readonly number[]): void;
}

export interface Device {
  readonly descriptor: readonly number[];
  readonly configuration: readonly number[];
  /** Maker, product, serial number. */
  readonly texts: readonly string[];
}

interface Transfer {
  readonly setup: readonly number[];
  readonly data: readonly number[];
  readonly then: (answer: number[]) => void;
}

const IN = 0x80;
const GET_DESCRIPTOR = 6;
const LINE_CODING_115200_8N1 = [0x00, 0xc2, 0x01, 0x00, 0, 0, 8];
const PACKET_BYTES = 64;

/** `onBytes` gets what the device sends; `onReady` is called when the device is configured. */
export function attachUsbHost(
  usb: RPUSBController,
  onBytes: (bytes: readonly number[]) => void,
  onReady: () => void,
): UsbHost {
  const waiting: Transfer[] = [];
  let current: Transfer | undefined;
  let answer: number[] = [];
  let device: Device | undefined;
  let bulk: { in: number; out: number } | undefined;
  let open = false;
  let toDevice: number[] = [];
  let armed = 0;

  function control(
    setup: readonly number[],
    data: readonly number[],
    then: (answer: number[]) => void,
  ): void {
    waiting.push({ setup, data, then });
    if (current === undefined) next();
  }

  function next(): void {
    current = waiting.shift();
    answer = [];
    if (current !== undefined) usb.sendSetupPacket(Uint8Array.from(current.setup));
  }

  function ended(): void {
    const done = current;
    const got = answer;
    next();
    done?.then(got);
  }

  function descriptor(type: number, index: number, length: number, then: (answer: number[]) => void): void {
    control([IN, GET_DESCRIPTOR, index, type, 0, 0, length % 256, Math.floor(length / 256)], [], then);
  }

  function enumerate(): void {
    const texts: string[] = [];
    let deviceDescriptor: number[] = [];
    descriptor(1, 0, 64, () => undefined);
    control([0, 5, 1, 0, 0, 0, 0, 0], [], () => undefined);
    descriptor(1, 0, 18, (found) => (deviceDescriptor = found));
    descriptor(3, 0, 255, () => undefined);
    for (const index of [1, 2, 3]) descriptor(3, index, 255, (found) => texts.push(utf16(found.slice(2))));
    descriptor(2, 0, 9, (head) => {
      descriptor(2, 0, head[2] + 256 * head[3], (configuration) => {
        bulk = bulkEndpoints(configuration);
        control([0, 9, configuration[5], 0, 0, 0, 0, 0], [], () => {
          device = { descriptor: deviceDescriptor, configuration, texts };
          if (open) tellOpen();
          onReady();
        });
      });
    });
  }

  function tellOpen(): void {
    if (open) control([0x21, 0x20, 0, 0, 0, 0, 7, 0], LINE_CODING_115200_8N1, () => undefined);
    control([0x21, 0x22, open ? 3 : 0, 0, 0, 0, 0, 0], [], () => undefined);
  }

  function pump(): void {
    if (armed === 0 || toDevice.length === 0 || bulk === undefined) return;
    const packet = toDevice.splice(0, Math.min(armed, PACKET_BYTES));
    armed = 0;
    usb.endpointReadDone(bulk.out, Uint8Array.from(packet));
  }

  usb.onUSBEnabled = () => usb.resetDevice();
  usb.onResetReceived = () => enumerate();
  usb.onEndpointWrite = (endpoint, buffer) => {
    if (endpoint !== 0) {
      if (endpoint === bulk?.in && open) onBytes([...buffer]);
    } else if (current !== undefined && (current.setup[0] & IN) !== 0) {
      answer.push(...buffer);
    } else {
      ended();
    }
  };
  usb.onEndpointRead = (endpoint, size) => {
    if (endpoint === bulk?.out) {
      armed = size;
      pump();
    } else if (endpoint === 0 && current !== undefined) {
      const isIn = (current.setup[0] & IN) !== 0;
      usb.endpointReadDone(0, Uint8Array.from(isIn ? [] : current.data));
      if (isIn) ended();
    }
  };

  return {
    get device() {
      return device;
    },
    setOpen: (now) => {
      if (now === open) return;
      open = now;
      toDevice = [];
      if (device !== undefined) tellOpen();
    },
    send: (bytes) => {
      toDevice.push(...bytes);
      pump();
    },
  };
}

function bulkEndpoints(configuration: readonly number[]): { in: number; out: number } {
  const found = { in: -1, out: -1 };
  let dataInterface = false;
  for (let at = 0; at < configuration.length; at += configuration[at]) {
    if (configuration[at + 1] === 4) dataInterface = configuration[at + 5] === 10;
    if (configuration[at + 1] !== 5 || !dataInterface) continue;
    const address = configuration[at + 2];
    if ((address & IN) !== 0) found.in = address & 15;
    else found.out = address;
  }
  return found;
}

function utf16(bytes: readonly number[]): string {
  return Buffer.from(bytes).toString('utf16le');
}
