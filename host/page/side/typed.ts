/** Lengths and numbers as people type them. The inch is 25.4 mm exactly (ISO 80000-3). */
import type { Units } from '../preferences';

const INCH_MM = 25.4;
const NUMBER = /^([+\-−])?(?:(\d+(?:[.,]\d*)?|[.,]\d+)|(?:(\d+)[ -])?(\d+)\/(\d+))$/;

/** "46", "46,5", "1 1/2", "-3/32" in the units of the screen, as millimetres; undefined when it is no length. */
export function lengthTyped(text: string, units: Units): number | undefined {
  const value = numberTyped(text.replace(/\s*(mm|in|")$/i, ''));
  if (value === undefined) return undefined;
  return units === 'mm' ? value : Math.round(value * INCH_MM * 1000) / 1000;
}

export function numberTyped(text: string): number | undefined {
  const found = NUMBER.exec(text.trim());
  if (found === null) return undefined;
  const [, sign, decimal, whole = '0', over, under] = found;
  const size =
    decimal === undefined ? Number(whole) + Number(over) / Number(under) : Number(decimal.replace(',', '.'));
  if (!Number.isFinite(size)) return undefined;
  return sign === '-' || sign === '−' ? -size : size;
}
