/**
 * Numbers that are the same to the bit in JavaScript and in Lua.
 *
 * Sums, products, quotients and square roots agree everywhere (IEEE 754); the library functions exp, log, sin and cos do
 * not, so the ones that the solver needs are written here with sums and products only. That makes a stored job solve to
 * the same bits on the fixture, in the host and in the page.
 */

/** Makes a Lua integer a Lua float, so that products cannot wrap at 64 bits; changes nothing in JavaScript. */
export function toFloat(x: number): number {
  return x / 1;
}

/** `count` zeros, as floats in both runtimes. */
export function zeros(count: number): number[] {
  const zero = toFloat(0);
  const list: number[] = [];
  for (let i = 0; i < count; i++) list.push(zero);
  return list;
}

// ln 2 in two parts: the first has enough trailing zero bits that its product with a small whole number is exact.
const LN2_HIGH = 0.6931471803691238;
const LN2_LOW = 1.9082149292705877e-10;
const RADIANS_PER_DEGREE = 0.017453292519943295;

/** Cosine and sine of an angle in degrees; exact at multiples of 90. Taylor series within 45 degrees of an axis. */
export function cosSinDeg(angleDeg: number): { cos: number; sin: number } {
  const angle = toFloat(angleDeg);
  const quarters = toFloat(Math.floor(angle / 90 + 0.5));
  const x = (angle - 90 * quarters) * RADIANS_PER_DEGREE;
  const s = x * x;
  let cos = toFloat(1);
  let sin = toFloat(1);
  for (let k = 18; k >= 2; k -= 2) {
    cos = 1 - (s / ((k - 1) * k)) * cos;
    sin = 1 - (s / (k * (k + 1))) * sin;
  }
  sin = x * sin;
  const quadrant = quarters - 4 * Math.floor(quarters / 4);
  if (quadrant === 0) return { cos, sin };
  if (quadrant === 1) return { cos: 0 - sin, sin: cos };
  if (quadrant === 2) return { cos: 0 - cos, sin: 0 - sin };
  return { cos: sin, sin: 0 - cos };
}

/** e to the power x, within about 1e-15 relative; 0 or infinity beyond the range of doubles. */
export function exponential(x: number): number {
  if (x < -745) return toFloat(0);
  if (x > 709.7) return Infinity;
  const twos = toFloat(Math.floor(x / (LN2_HIGH + LN2_LOW) + 0.5));
  const r = x - twos * LN2_HIGH - twos * LN2_LOW;
  let value = toFloat(1);
  for (let k = 14; k >= 1; k--) value = 1 + (r / k) * value;
  for (let k = 0; k < twos; k++) value *= 2;
  for (let k = 0; k > twos; k--) value /= 2;
  return value;
}

/** Natural logarithm of a positive number, within about 1e-15; minus infinity for zero and below. */
export function logarithm(x: number): number {
  if (!(x > 0)) return -Infinity;
  if (x === Infinity) return x;
  let mantissa = toFloat(x);
  let twos = toFloat(0);
  while (mantissa > 1.4142135623730951) {
    mantissa /= 2;
    twos += 1;
  }
  while (mantissa < 0.7071067811865476) {
    mantissa *= 2;
    twos -= 1;
  }
  const t = (mantissa - 1) / (mantissa + 1);
  let series = toFloat(0);
  for (let k = 23; k >= 1; k -= 2) series = 1 / k + t * t * series;
  return twos * LN2_HIGH + (2 * t * series + twos * LN2_LOW);
}
