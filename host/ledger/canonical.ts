/** The one way to write a value as JSON, so that equal values give equal bytes and a hash can be checked by anyone. */

/**
 * JSON after RFC 8785 (keys in UTF-16 order, no white space, numbers as ECMAScript prints them). Fields that are
 * undefined are left out. Throws TypeError on what JSON cannot hold: NaN, infinities, functions, undefined in a list.
 */
export function canonicalJson(value: unknown): string {
  if (value === null || typeof value === 'boolean' || typeof value === 'string') return JSON.stringify(value);
  if (typeof value === 'number') {
    if (!Number.isFinite(value)) throw new TypeError(`${value} cannot be written as JSON`);
    return JSON.stringify(value);
  }
  if (Array.isArray(value)) return `[${Array.from(value, (item: unknown) => canonicalJson(item)).join(',')}]`;
  if (typeof value === 'object' && isPlain(value)) {
    const fields = Object.entries(value)
      .filter(([, field]) => field !== undefined)
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([key, field]) => `${JSON.stringify(key)}:${canonicalJson(field)}`);
    return `{${fields.join(',')}}`;
  }
  throw new TypeError(`${typeof value} cannot be written as JSON`);
}

/** Dates, maps and the like would silently turn into something else. */
function isPlain(value: object): boolean {
  const prototype: unknown = Object.getPrototypeOf(value);
  return prototype === Object.prototype || prototype === null;
}
