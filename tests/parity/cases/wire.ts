/** Cases for every function that `protocol/wire/index.ts` exports. */
import fc from 'fast-check';
import type { Random } from '../../../host/simulation/random';
import type { Message } from '../../../protocol/wire/index';
import { encodeFrame } from '../../../protocol/wire/index';
import { anyMessage } from '../../unit/wire/messages';
import type { Plain } from '../lua';
import { anyNumber, integerBetween, listOf, pick } from '../numbers';
import type { CasesByName } from './cases';

/** Every message kind with random and extreme values, in a fixed order. */
const MESSAGES_OF_ALL_KINDS: readonly Message[] = fc.sample(anyMessage, { seed: 6, numRuns: 600 });

const anyBytes = (random: Random) =>
  listOf(integerBetween(random, 0, 300), () => pick(random, [0, 1, 255, integerBetween(random, 0, 255)]));
const fewZeros = (random: Random) =>
  listOf(integerBetween(random, 0, 600), () => integerBetween(random, random.chance(0.01) ? 0 : 1, 255));

/** One field in four gets a number that may not fit, or a text that does not. */
function spoiled(random: Random, message: Message): Plain {
  const body = Object.entries(message.body as Record<string, Plain>).map(([name, value]): [string, Plain] => {
    if (random.chance(0.75)) return [name, value];
    return [
      name,
      typeof value === 'number' ? anyNumber(random) : typeof value === 'string' ? value.repeat(30) : value,
    ];
  });
  const sequence = random.chance(0.9) ? message.sequence : anyNumber(random);
  return { name: message.name, sequence, body: Object.fromEntries(body) };
}

export const WIRE_CASES: CasesByName = {
  crc32c: { generate: (random) => [anyBytes(random)] },
  cobsEncode: {
    generate: (random) => [random.chance(0.5) ? anyBytes(random) : fewZeros(random)],
    count: 300,
  },
  cobsDecode: {
    generate: (random) => [random.chance(0.5) ? anyBytes(random) : fewZeros(random)],
    count: 300,
  },
  encodeFrame: {
    generate: (random) => {
      const message = pick(random, MESSAGES_OF_ALL_KINDS);
      return [random.chance(0.5) ? spoiled(random, message) : message];
    },
    count: 1500,
  },
  createFrameReader: {
    driver: 'readPieces',
    generate: (random) => {
      const line = listOf(4, () => {
        const frame = encodeFrame(pick(random, MESSAGES_OF_ALL_KINDS));
        if (random.chance(0.2))
          frame[integerBetween(random, 0, frame.length - 1)] = integerBetween(random, 0, 255);
        return random.chance(0.2) ? [...fewZeros(random), 0, ...frame] : frame;
      }).flat();
      const cut = integerBetween(random, 0, line.length);
      return [[line.slice(0, cut), line.slice(cut)]];
    },
    count: 300,
  },
};
