/** Lengths as this screen shows them. Everything arrives in millimetres. The inch is 25.4 mm exactly (ISO 80000-3). */
import type { Units } from './preferences';

const INCH_MM = 25.4;
const PARTS = 32;

/** "3.2 mm", "1/8 in", "0.126 in". */
export function lengthText(mm: number, units: Units, decimals = 1): string {
  return `${numberText(mm, units, decimals)} ${unitText(units)}`;
}

/** The number alone. */
export function numberText(mm: number, units: Units, decimals = 1): string {
  switch (units) {
    case 'mm':
      return signed(mm.toFixed(decimals));
    case 'decimal inch':
      return signed((mm / INCH_MM).toFixed(decimals + 2));
    case 'inch fractions':
      return fraction(mm / INCH_MM);
  }
}

export function unitText(units: Units): string {
  return units === 'mm' ? 'mm' : 'in';
}

/**
 * A sentence of the server with its millimetres as this screen shows lengths: "3.2 mm", "4.5 ± 1.0 mm", "−3 to 3 mm". What
 * a slope or a rate has ("mm/m") stays as it is.
 */
export function sentence(text: string, units: Units): string {
  if (units === 'mm') return text;
  return text.replace(LENGTHS, (_, numbers: string) => {
    const shown = numbers.replace(NUMBER, (number) => {
      const decimals = number.split('.')[1]?.length ?? 0;
      return numberText(Number(number.replace('−', '-')), units, decimals);
    });
    return `${shown} ${unitText(units)}`;
  });
}

const NUMBER = /[−-]?\d+(?:\.\d+)?/g;
const LENGTHS = /([−-]?\d+(?:\.\d+)?(?:(?: to | ± |, )[−-]?\d+(?:\.\d+)?)*) mm(?![/\w])/g;

/** To the nearest 1/32: "3 1/8", "−1/32", "0". */
function fraction(inches: number): string {
  const parts = Math.round(Math.abs(inches) * PARTS);
  const whole = Math.floor(parts / PARTS);
  let [over, under] = [parts % PARTS, PARTS];
  while (over !== 0 && over % 2 === 0) [over, under] = [over / 2, under / 2];
  const rest = over === 0 ? '' : `${over}/${under}`;
  const size = whole === 0 && rest !== '' ? rest : [String(whole), rest].filter((t) => t !== '').join(' ');
  return inches < 0 && parts > 0 ? `−${size}` : size;
}

function signed(number: string): string {
  return number.replace(/^-(?=0(\.0+)?$)/, '').replace(/^-/, '−');
}
