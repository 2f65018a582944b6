/** Random and extreme messages of every kind in the table. */
import fc from 'fast-check';
import type { Field, FieldType, Message, MessageDefinition } from '../../../protocol/wire/index';
import { MESSAGES } from '../../../protocol/wire/index';

const integer = (low: number, high: number) =>
  fc.oneof(fc.constantFrom(low, high, 0, low + 1, high - 1), fc.integer({ min: low, max: high }));

/** The ranges are written here a second time, so that a wrong one in the codec shows. */
const VALUES: Record<FieldType, fc.Arbitrary<unknown>> = {
  u8: integer(0, 0xff),
  u16: integer(0, 0xffff),
  u32: integer(0, 0xffff_ffff),
  i16: integer(-0x8000, 0x7fff),
  i32: integer(-0x8000_0000, 0x7fff_ffff),
  text: fc.string({ unit: 'binary', maxLength: 15 }),
  i32list: fc.array(integer(-0x8000_0000, 0x7fff_ffff), { maxLength: 32 }),
};

export function anyMessageOf(definition: MessageDefinition): fc.Arbitrary<Message> {
  const body = Object.fromEntries(definition.fields.map((f: Field) => [f.name, VALUES[f.type]]));
  return fc.record({
    name: fc.constant(definition.name),
    sequence: integer(0, 255),
    body: fc.record(body),
  }) as fc.Arbitrary<unknown> as fc.Arbitrary<Message>;
}

export const anyMessage: fc.Arbitrary<Message> = fc.oneof(...MESSAGES.map(anyMessageOf));
