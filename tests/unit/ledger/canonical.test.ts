import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { canonicalJson } from '../../../host/ledger/canonical';

describe('canonical JSON', () => {
  test('the sample object of RFC 8785, section 3.2.2 and 3.2.3', () => {
    const value: unknown = JSON.parse(String.raw`{
      "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
      "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
      "literals": [null, true, false]
    }`);
    expect(canonicalJson(value)).toBe(
      String.raw`{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"string":"€$\u000f\nA'B\"\\\\\"/"}`,
    );
  });

  test('the key order of RFC 8785, section 3.2.3: UTF-16 code units, so that a surrogate pair comes before U+FB33', () => {
    const value = { '\u20ac': 1, '\r': 2, '\ufb33': 3, '1': 4, '\ud83d\ude00': 5, '\u0080': 6, '\u00f6': 7 };
    const order = [...canonicalJson(value).matchAll(/:(\d)/g)].map((m) => Number(m[1]));
    expect(order).toEqual([2, 4, 6, 7, 1, 5, 3]);
  });

  test('is JSON of the same value whatever the order of keys, and canonical again when read and written', () => {
    fc.assert(
      fc.property(fc.jsonValue({ maxDepth: 4 }), (value) => {
        const text = canonicalJson(value);
        // -0 is written as 0, as ECMAScript and RFC 8785 have it.
        expect(JSON.parse(text)).toEqual(JSON.parse(JSON.stringify(value)));
        expect(canonicalJson(reversed(value))).toBe(text);
        expect(canonicalJson(JSON.parse(text))).toBe(text);
      }),
    );
  });

  test.each([
    Number.NaN,
    Infinity,
    [undefined],
    new Array(2),
    new Date(0),
    new Map(),
    1n,
    undefined,
    () => 1,
  ])('refuses %s', (value) => {
    expect(() => canonicalJson({ value: [value] })).toThrow(TypeError);
  });

  test('leaves out fields that are undefined, as optional fields may be', () => {
    expect(canonicalJson({ b: undefined, a: 1 })).toBe('{"a":1}');
  });
});

function reversed(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(reversed);
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(
    Object.entries(value)
      .reverse()
      .map(([key, field]) => [key, reversed(field)]),
  );
}
