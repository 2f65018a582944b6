/** What is read may hold anything; what is said of it must not move a terminal's cursor or turn its text round. */
import { describe, expect, it, test } from 'vitest';
import { parseBay } from '../../../host/bay/load';
import { NumberedError, numberedError } from '../../../host/errors/errors';
import { visible } from '../../../host/errors/visible';
import { parseStudyCsv, parseValues } from '../../../host/gauging/study/parse-csv';
import { parseExport } from '../../../host/ledger/exported-job';
import { parseChecklist } from '../../../host/machines/checklist';
import { parseTape } from '../../../host/machines/from-tape';
import { parseProfile } from '../../../host/machines/load';

test('ECMA-48 control sequences and the marks of UAX 9 are shown as numbers, words of any script as they are', () => {
  expect(visible('\x1b[2J\x9b31m\r\u202egpj')).toBe('\\u{1b}[2J\\u{9b}31m\\u{d}\\u{202e}gpj');
  const words = 'Größe 12,5 – 芝刈機 “ok”\nnext';
  expect(visible(words)).toBe(words);
});

const GARBAGE = Buffer.from(Array.from({ length: 512 }, (_, i) => (i * 167 + 13) % 256));
const text = GARBAGE.toString('utf8');
/** Text in the form of a string of JSON and of CSV, with an escape sequence in it. */
const hidden = '\u009b31m\u202e';

describe('garbage is refused by number, and not a byte of it is obeyed', () => {
  it.each([
    ['bay', () => parseBay(text, 'x'), 451],
    ['bay with a hidden name', () => parseBay(`{"points":[],"${hidden}":1}`, 'x'), 452],
    ['machine', () => parseProfile(text, 'x'), 301],
    ['machine with a hidden field', () => parseProfile(`{"${hidden}":1}`, 'x'), 302],
    ['machine with a field twice', () => parseProfile(`{"${hidden}":1,"${hidden}":1}`, 'x'), 301],
    ['dimensions', () => parseTape(text, 'x'), 301],
    ['checklist', () => parseChecklist(text, 'x'), 311],
    ['study', () => parseStudyCsv(text, 'x'), 470],
    [
      'study with a hidden value',
      () => parseStudyCsv(`part,operator,trial,value\na,b,1,${hidden}\n`, 'x'),
      470,
    ],
    ['chart', () => parseValues(text, 'x'), 474],
    ['exported job', () => parseExport(GARBAGE, 'x'), 261],
    [
      'exported job of a hidden writer',
      () => parseExport(Buffer.from(`swathplane-job 2\nwriter "${hidden}\\x"\n`), 'x'),
      261,
    ],
  ])('%s', (_, read, number) => {
    let refused: unknown;
    try {
      read();
    } catch (error) {
      refused = error;
    }
    expect(refused).toBeInstanceOf(NumberedError);
    const { number: given, message, about } = refused as NumberedError;
    expect(given).toBe(number);
    for (const said of [message, about]) expect(said).toMatch(/^[^\p{Cc}\p{Cf}]*$/u);
  });

  it('a file by a hostile name', () => {
    expect(numberedError('file not found', `\x1b]0;title\x07.json`).message).not.toContain('\x1b');
  });
});
