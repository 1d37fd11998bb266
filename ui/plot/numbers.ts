/** How the numbers of a figure are written and spoken: with the prefixes of the SI or as they are, a true minus, their unit behind. */

/** What says how a number is written: an axis, or a column (which has digits). */
export interface Written {
  readonly unit: string;
  readonly written: 'prefixed' | 'plain';
}

const prefixes: readonly (readonly [power: number, symbol: string, spoken: string])[] = [
  [-15, 'f', 'femto'], [-12, 'p', 'pico'], [-9, 'n', 'nano'], [-6, 'µ', 'micro'], [-3, 'm', 'milli'], [0, '', ''], [3, 'k', 'kilo'], [6, 'M', 'mega'], [9, 'G', 'giga'], [12, 'T', 'tera'],
];

/** The prefix with which a magnitude reads 1 to 999, as its power of ten, symbol and word; none for zero. */
export function prefixFor(magnitude: number): { readonly power: number; readonly symbol: string; readonly spoken: string } {
  const wanted = magnitude > 0 && Number.isFinite(magnitude) ? Math.floor(Math.floor(Math.log10(magnitude) + 1e-9) / 3) * 3 : 0;
  const [power, symbol, spoken] = prefixes.find(([each]) => each >= wanted) ?? prefixes.at(-1)!;
  return { power, symbol, spoken };
}

/** Levels and gains are said with their sign: "+4.0 dBu". */
export function isDecibel(unit: string): boolean {
  return unit.startsWith('dB');
}

export const isDegree = (unit: string): boolean => unit === 'degrees' || unit === '°';

/** Words for what is no number: of decibels, minus infinity is nothing at all. */
function notFinite(value: number): string {
  if (Number.isNaN(value)) return 'unknown';
  return value > 0 ? 'endless' : 'none';
}

/** A true minus, a plus where the sign is part of the reading; no sign at a zero. */
function signed(text: string, plus: boolean): string {
  if (!/[1-9]/.test(text)) return text.replace('-', '');
  return text.startsWith('-') ? `−${text.slice(1)}` : plus ? `+${text}` : text;
}

/** "2.50 kHz" of three significant digits: figure and unit apart. Trailing zeros are kept. */
function splitPrefixed(value: number, unit: string, significant: number): { readonly figure: string; readonly unit: string; readonly spokenPrefix: string } {
  // Rounded first, so that 999.96 becomes 1.000 k and not 1000.
  const rounded = Number(value.toPrecision(significant));
  if (unit === '') {
    const text = rounded.toPrecision(significant);
    return { figure: signed(text.includes('e') ? rounded.toExponential(significant - 1) : text, false), unit: '', spokenPrefix: '' };
  }
  const { power, symbol, spoken } = prefixFor(Math.abs(rounded));
  const scaled = rounded / 10 ** power;
  const whole = scaled === 0 ? 1 : Math.floor(Math.log10(Math.abs(scaled)) + 1e-9) + 1;
  // Beyond the prefixes an exponent says it.
  if (whole > 4 || whole < 1) return { figure: signed(rounded.toExponential(significant - 1), false), unit, spokenPrefix: '' };
  return { figure: signed(scaled.toFixed(Math.max(0, significant - whole)), false), unit: symbol + unit, spokenPrefix: spoken };
}

/** "−62.1", "2.50 kHz": `digits` are decimals of a plain number and significant digits of a prefixed one. The unit of a plain number stands elsewhere (in the heading). */
export function writeFigure(value: number, { unit, written, digits }: Written & { readonly digits: number }): string {
  if (!Number.isFinite(value)) return notFinite(value);
  if (written === 'plain') return signed(value.toFixed(digits), false);
  const split = splitPrefixed(value, unit, Math.max(1, digits));
  return split.unit === '' ? split.figure : `${split.figure} ${split.unit}`;
}

/** Figure of a plain number with the digits that can be read off a plot: decibels and degrees to a tenth, others to four significant. */
function plainReading(value: number, unit: string): string {
  if (isDecibel(unit)) return signed(value.toFixed(1), true);
  if (isDegree(unit)) return signed(value.toFixed(1), false);
  const text = String(Number(value.toPrecision(4)));
  return signed(text, false);
}

/** A value read off an axis, with its unit: "+4.0 dBu", "1.26 kHz", "−45.0°". What a decibel refers to stands at the axis. */
export function writeReading(value: number, { unit, written }: Written): string {
  if (!Number.isFinite(value)) return notFinite(value);
  if (written === 'prefixed') return writeFigure(value, { unit, written, digits: 3 });
  const figure = plainReading(value, unit);
  if (isDegree(unit)) return `${figure}°`;
  return unit === '' ? figure : `${figure} ${unit.replace(/ re .*/, '')}`;
}

const unitWords: Readonly<Record<string, string>> = {
  Hz: 'hertz', s: 'seconds', V: 'volts', A: 'amperes', 'Ω': 'ohms', W: 'watts', dB: 'decibels', degrees: 'degrees', '°': 'degrees', '%': 'percent', K: 'kelvins', '°C': 'degrees Celsius',
};

/** Words of a unit, of its first part where more is said: "dB re fundamental" → "decibels re fundamental"; "dBu" stays, it is spelled. */
function speakUnit(unit: string): string {
  const [first, ...rest] = unit.split(' ') as [string, ...string[]];
  return [unitWords[first] ?? first, ...rest].join(' ');
}

/** The same for the ear: "minus 72.1 decibels", "1.26 kilohertz". What a decibel refers to is left out: it is in the name of the axis. */
export function speakReading(value: number, { unit, written }: Written): string {
  if (!Number.isFinite(value)) return notFinite(value);
  const split = written === 'prefixed' ? splitPrefixed(value, unit, 3) : { figure: plainReading(value, unit), unit, spokenPrefix: '' };
  const figure = split.figure.replace('−', 'minus ').replace('+', 'plus ');
  if (unit === '') return figure;
  const word = unit.startsWith('dB ') ? unitWords['dB']! : speakUnit(unit);
  // Kilohm and megohm drop a vowel before "ohm" (ISO 80000-1, 6.5.4, from memory).
  const prefix = word.startsWith('ohm') && /^(kilo|mega)$/.test(split.spokenPrefix) ? split.spokenPrefix.slice(0, -1) : split.spokenPrefix;
  return `${figure} ${prefix}${word}`;
}
