/** The golden frames in Lua, both ways. */
import { expect, test } from 'vitest';
import framesFile from '../../protocol/vectors/v1/frames.json';
import streamsFile from '../../protocol/vectors/v1/streams.json';
import { difference } from './compare';
import type { NumberKind, Plain } from './lua';
import { loadLua } from './lua';

const lua = await loadLua(new URL('./drivers/wire.ts', import.meta.url).pathname);
const bytesOf = (hex: string) => [...Buffer.from(hex, 'hex')];

/** Calls `path` once for each list and returns what differs from the expected results. */
async function wrong(path: string, lists: Plain[][], expected: readonly unknown[], numbers: NumberKind) {
  const outcomes = await lua.call(path, lists, numbers);
  expect(outcomes).toHaveLength(expected.length);
  return outcomes
    .map((outcome, i) => difference({ returned: expected[i] as Plain }, outcome))
    .filter((d) => d !== undefined);
}

test.each<NumberKind>(['float', 'integer'])(
  'every golden frame both ways, numbers as %ss',
  async (numbers) => {
    const { frames } = framesFile;
    const bytes = frames.map((f) => bytesOf(f.hex));
    const messages = frames.map((f): Plain[] => [f.message]);
    expect(await wrong('barrel.encodeFrame', messages, bytes, numbers)).toEqual([]);

    const received = frames.map((f) => [{ kind: 'message', message: f.message }]);
    const pieces = bytes.map((b): Plain[] => [[b]]);
    expect(await wrong('readPieces', pieces, received, numbers)).toEqual([]);
  },
);

test('every golden stream', async () => {
  const pieces = streamsFile.streams.map((s): Plain[] => [[bytesOf(s.hex)]]);
  const received = streamsFile.streams.map((s) => s.received);
  expect(await wrong('readPieces', pieces, received, 'integer')).toEqual([]);
});
