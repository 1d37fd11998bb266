/** Values in sentences: "4.7 kΩ". For messages only; what an editor shows is written elsewhere. */

const prefixes: readonly (readonly [factor: number, prefix: string])[] = [
  [1e9, 'G'], [1e6, 'M'], [1e3, 'k'], [1, ''], [1e-3, 'm'], [1e-6, 'µ'], [1e-9, 'n'], [1e-12, 'p'],
];
/** Units that take no prefix. */
const plainUnits = new Set(['dB', 'dBu', '°C', '']);

/** At most four significant digits, with the prefix that puts 1 to 999 before the unit. */
export function formatValue(value: number, unit: string): string {
  if (plainUnits.has(unit) || value === 0 || !Number.isFinite(value)) return `${round(value)}${unit === '' ? '' : ` ${unit}`}`;
  const size = Math.abs(value);
  const [factor, prefix] = prefixes.find(([f]) => size >= f * 0.99995) ?? prefixes[prefixes.length - 1]!;
  return `${round(value / factor)} ${prefix}${unit}`;
}

function round(value: number): string {
  return String(Number(value.toPrecision(4)));
}
