/** Lua 5.4's byte code files, as far as the build has to read them. Layout: Lua 5.4's own ldump.c, one version only. */

const HEADER_BYTES = 31;
/** Bytes of a constant of each type beside its type; the two kinds of text carry their length. */
const CONSTANT_BYTES: Readonly<Record<number, number | 'text'>> = {
  0: 0,
  1: 0,
  17: 0,
  3: 8,
  19: 8,
  4: 'text',
  20: 'text',
};
const INSTRUCTION_BYTES = 4;

/**
 * What lies in the flash: length of the instructions and length of the rest, both 32 bit little endian; the instructions
 * of all functions in the order of the file, aligned, so that they need no place in RAM; the chunk without them.
 */
export function inFlash(chunk: Uint8Array): Uint8Array {
  const code: Uint8Array[] = [];
  const rest: Uint8Array[] = [];
  let at = HEADER_BYTES + 1;
  let restFrom = 0;

  /** Seven bits a byte, the highest first; the last byte has its top bit set. */
  function number(): number {
    let value = 0;
    for (;;) {
      const byte = chunk[at++];
      value = value * 128 + (byte & 0x7f);
      if ((byte & 0x80) !== 0) return value;
    }
  }
  function times(what: () => void): void {
    const count = number();
    for (let i = 0; i < count; i++) what();
  }
  const skip = (bytes: number): void => void (at += bytes);
  const text = (): void => skip(Math.max(0, number() - 1));

  function constant(): void {
    const type = chunk[at++];
    const bytes = CONSTANT_BYTES[type];
    if (bytes === undefined) throw new Error(`byte code: constant of unknown type ${type} at ${at - 1}`);
    if (bytes === 'text') text();
    else skip(bytes);
  }

  function routine(): void {
    text(); // where it was written
    number(); // first line
    number(); // last line
    skip(3); // parameters, open list of parameters, registers
    const bytes = number() * INSTRUCTION_BYTES;
    rest.push(chunk.subarray(restFrom, at));
    code.push(chunk.subarray(at, at + bytes));
    skip(bytes);
    restFrom = at;
    times(constant);
    times(() => skip(3)); // upvalues
    times(routine);
    times(() => skip(1)); // lines
    times(() => (number(), number()));
    times(() => (text(), number(), number())); // names of locals
    times(text); // names of upvalues
  }

  routine();
  if (at !== chunk.length) throw new Error(`byte code: ${chunk.length - at} bytes are left over`);
  const instructions = Buffer.concat(code);
  const others = Buffer.concat([...rest, chunk.subarray(restFrom)]);
  const head = Buffer.alloc(8);
  head.writeUInt32LE(instructions.length, 0);
  head.writeUInt32LE(others.length, 4);
  return Buffer.concat([head, instructions, others]);
}
