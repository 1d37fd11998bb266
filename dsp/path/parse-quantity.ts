/**
 * What a person types into a value, read into base units. Grammar:
 *
 *     entry  = [sign] body [space] [unit]            sign: + - −     spaces: any, also no-break
 *     body   = digits [("." | ",") digits] [("e"|"E") [sign] digits] [space] [prefix]
 *            | [digits] mark digits                  mark: prefix, or R Ω F H V A standing for the point: 4k7 R47 2n2 5V1
 *     prefix = p n u µ μ m k K M G                   m and M differ; K is k
 *
 * The mark form is that of IEC 60062 ("Marking codes for resistors and capacitors"), widened to the other units. A number may also
 * begin with its point. A number without letters takes the unit printed beside the field.
 */
import { ratioToDecibels } from '../math/index.ts';
import type { NumberParameter, Quantity } from '../stages/contract.ts';
import type { Unit } from './units.ts';
import { prefixPower, takesPrefix, unitsOf, voltsToDbu, writeQuantity } from './units.ts';

export type ParsedQuantity =
  | { readonly ok: true; /** Base unit. */ readonly value: number; /** "= 4.7 kΩ" */ readonly echo: string }
  | { readonly ok: false; readonly sentence: string };

export interface QuantityContext {
  readonly quantity: Quantity;
  /** Unit printed beside the field ("kΩ", "dBu"), taken by a number without letters. */
  readonly unit: string;
  /** Calibration: 0 dBFS in dBu. */
  readonly fullScaleDbu: number;
}

const examples: Readonly<Record<Quantity, string>> = {
  resistance: '4k7 or 4.7 kΩ', capacitance: '2n2 or 2.2 nF', inductance: '4m7 or 4.7 mH',
  current: '2m5 or 2.5 mA', frequency: '1k5 or 1.5 kHz', time: '5m or 5 ms',
  level: '+4 dBu or 1.23 V', gain: '−6 dB', 'harmonic-amount': '−60 dB or 0.1 %',
  voltage: '5V1 or 5.1 V', ratio: '2.5', quality: '0.71', temperature: '25 °C',
  length: '300 m', 'resistance-per-length': '35 mΩ/m', 'capacitance-per-length': '100p or 100 pF/m',
};

const names: Readonly<Record<Quantity, string>> = {
  resistance: 'a resistance', capacitance: 'a capacitance', inductance: 'an inductance', current: 'a current', frequency: 'a frequency',
  time: 'a time', level: 'a level', gain: 'a gain', 'harmonic-amount': 'a harmonic amount', voltage: 'a voltage', ratio: 'a ratio',
  quality: 'a quality factor', temperature: 'a temperature',
  length: 'a length', 'resistance-per-length': 'a resistance per metre', 'capacitance-per-length': 'a capacitance per metre',
};

const markForm = /^([+-]?)(\d*)([pnu\u00b5mkKMGR\u03a9FHVA])(\d+)(.*)$/;
const plainForm = /^([+-]?)(\d*)([.,]?)(\d*)(?:[eE]([+-]?\d+))?(.*)$/;

/** Number as decimal text, so that every entry is rounded once: "4.7e3". */
interface Reading {
  readonly decimal: string;
  /** Power of ten of the entry itself; the prefix is added to it. */
  readonly exponent: number;
  /** Unit letter that stood for the point; empty for a prefix or none. */
  readonly mark: string;
  readonly marked: boolean;
  /** What follows the number, without spaces. */
  readonly rest: string;
  /** Whether any letter was typed, so that the printed unit no longer holds. */
  readonly lettered: boolean;
}

class Refusal extends Error {}

/** Unit by spelling, spaces removed; null when there is none such. */
function unitSpelled(text: string): Unit | 'ambiguous' | null {
  switch (text) {
    case '': return '';
    case 'Ω': case 'R': return 'Ω';
    case 'F': case 'H': case 'A': case 's': case 'V': case 'dBV': case '%': return text;
    case 'Vrms': return 'V';
    case 'Vpk': case 'Vp': return 'V pk';
    case 'Vpp': return 'V pp';
    case '°C': case 'C': return '°C';
    case 'F/m': case 'Ω/m': return text;
    case 'R/m': return 'Ω/m';
    case 'dBv': case 'dbv': return 'ambiguous';
  }
  switch (text.toLowerCase()) {
    case 'ohm': case 'ohms': return 'Ω';
    case 'hz': return 'Hz';
    case 'db': return 'dB';
    case 'dbu': return 'dBu';
    case 'dbfs': return 'dBFS';
    default: return null;
  }
}

function readNumber(text: string, quoted: string, notANumber: string): Reading {
  const entry = text.replace(/\s/g, ' ').trim().replace(/\u2212/g, '-').replace(/\u2126/g, '\u03a9').replace(/\u03bc/g, '\u00b5');
  if (entry === '') throw new Refusal('nothing was written.');
  const marked = markForm.exec(entry);
  if (marked) {
    const [, sign, whole, mark, part, rest] = marked as unknown as [string, string, string, string, string, string];
    const power = prefixPower(mark);
    return { decimal: `${sign}${whole || '0'}.${part}`, exponent: power ?? 0, mark: power === null ? mark : '', marked: true, rest: rest.replace(/ /g, ''), lettered: true };
  }
  const plain = plainForm.exec(entry);
  if (!plain) throw new Refusal(notANumber);
  const [, sign, whole, point, part, exponent, rest] = plain as unknown as [string, string, string, string, string, string | undefined, string];
  if (whole === '' && part === '' || /^[.,\d]/.test(rest)) throw new Refusal(notANumber);
  if (point === ',' && /^[1-9]\d{0,2}$/.test(whole) && part.length === 3) {
    throw new Refusal(`${quoted} is ambiguous, for a comma is the decimal sign here; write ${whole}${part} or ${whole}.${part}.`);
  }
  return {
    decimal: `${sign}${whole || '0'}.${part || '0'}`, exponent: Number(exponent ?? 0), mark: '', marked: false, rest: rest.replace(/ /g, ''),
    lettered: exponent !== undefined || rest.trim() !== '',
  };
}

/** Unit and prefix power of what follows the number. */
function readUnit(reading: Reading, context: QuantityContext, quoted: string, notANumber: string): { unit: string; power: number } {
  const base: string = unitsOf[context.quantity][0];
  const printed = context.unit.replace(/ /g, '');
  const qualified = reading.mark === 'V' && /^(rms|pk|pp?)$/.test(reading.rest) ? `V${reading.rest}` : reading.rest;
  const text = !reading.lettered ? printed : qualified === '' ? reading.mark : qualified;
  // A metre is spelled like the prefix milli.
  if (text === '' || text === base) return { unit: base, power: 0 };
  let unit = unitSpelled(text);
  let power = 0;
  if (unit === null && prefixPower(text[0]!) !== null) {
    power = prefixPower(text[0]!)!;
    unit = unitSpelled(text.slice(1));
    if (unit === '') unit = takesPrefix(base) ? base as Unit : null;
    if (unit === null && text.length === 1 && !takesPrefix(base)) throw new Refusal(wantedUnit(context.quantity, `${quoted} has a prefix`));
  }
  if (unit === 'ambiguous') throw new Refusal(`${quoted} may mean dBu or dBV; write one of them.`);
  // A unit of the table's own, such as A/V², is understood as it is printed.
  if (unit === null && text === printed) return { unit: base, power: 0 };
  if (unit === null) throw new Refusal(notANumber);
  if (reading.mark !== '' && !unit.startsWith(unitSpelled(reading.mark)!)) throw new Refusal(notANumber);
  if (power !== 0 && reading.marked) throw new Refusal(`${quoted} has a mark and a prefix; write one of them.`);
  if (power !== 0 && !takesPrefix(unit)) throw new Refusal(`${quoted} has a prefix, and ${unit} takes none.`);
  if (!unitsOf[context.quantity].includes(unit)) throw new Refusal(wantedUnit(context.quantity, `${quoted} is in ${unit}`));
  return { unit, power };
}

function wantedUnit(quantity: Quantity, fault: string): string {
  const wanted = unitsOf[quantity].filter((unit) => unit !== '');
  if (wanted.length === 0) return `${fault}; ${names[quantity]} has no unit.`;
  const last = wanted.at(-1)!;
  return `${fault}; ${names[quantity]} is written in ${wanted.length > 1 ? `${wanted.slice(0, -1).join(', ')} or ${last}` : last}.`;
}

/** Base units from the unit written: volts and dBV to dBu, percent to dB. */
function toBase(value: number, unit: string, context: QuantityContext, quoted: string): number {
  if (context.quantity === 'level') {
    const volts = unit === 'V pk' ? value / Math.SQRT2 : unit === 'V pp' ? value / (2 * Math.SQRT2) : value;
    if (unit === 'dBu') return value;
    if (unit === 'dBFS') return value + context.fullScaleDbu;
    if (unit === 'dBV') return value + voltsToDbu(1);
    if (!(volts > 0)) throw new Refusal(`${quoted} has no level in decibels; write a voltage above zero.`);
    return voltsToDbu(volts);
  }
  if (context.quantity === 'harmonic-amount' && unit === '%') {
    if (!(value > 0)) throw new Refusal(`${quoted} has no level in decibels; write a percentage above zero.`);
    return ratioToDecibels(value / 100);
  }
  return value;
}

/** Reads one entry. The sentence of a refusal names neither the value nor what was kept: `readEntry` does. Pure; throws nothing. */
export function parseQuantity(text: string, context: QuantityContext): ParsedQuantity {
  const quoted = `"${text.replace(/\s/g, ' ').trim()}"`;
  const unitless = unitsOf[context.quantity][0] === '';
  const notANumber = `${quoted} is not a number${unitless ? '' : ' with a unit'}; write ${examples[context.quantity]}.`;
  try {
    const reading = readNumber(text, quoted, notANumber);
    const { unit, power } = readUnit(reading, context, quoted, notANumber);
    const entered = Number(`${reading.decimal}e${reading.exponent + power}`);
    if (!Number.isFinite(entered)) throw new Refusal(`${quoted} is too large to compute with.`);
    const value = toBase(entered, unit, context, quoted) + 0;
    const base = unitsOf[context.quantity][0];
    return { ok: true, value, echo: `= ${writeQuantity(value, context.quantity, base === '' ? context.unit : base)}` };
  } catch (refusal) {
    if (!(refusal instanceof Refusal)) throw refusal;
    return { ok: false, sentence: refusal.message };
  }
}

export interface EntryContext {
  readonly parameter: NumberParameter;
  /** Value before the entry. */
  readonly kept: number;
  /** Unit printed beside the field; without it the base unit of the parameter. */
  readonly printedUnit?: string;
  readonly fullScaleDbu: number;
}

/** An entry for one parameter: parsed, held against its limits; a refusal names the value, the fault and what was kept or meant. */
export function readEntry(text: string, context: EntryContext): ParsedQuantity {
  const { parameter, kept } = context;
  const name = parameter.designator ?? parameter.shortLabel;
  const write = (value: number) => writeQuantity(value, parameter.quantity, parameter.unit);
  const parsed = parseQuantity(text, { quantity: parameter.quantity, unit: context.printedUnit ?? parameter.unit, fullScaleDbu: context.fullScaleDbu });
  if (!parsed.ok) return { ok: false, sentence: `${name}: ${parsed.sentence} Kept ${write(kept)}.` };
  const { value } = parsed;
  if (value >= parameter.minimum && value <= parameter.maximum) return { ...parsed, echo: `= ${write(value)}` };
  const side = value > parameter.maximum ? `above ${write(parameter.maximum)}` : `below ${write(parameter.minimum)}`;
  const meant = scaledIntoRange(value, parameter, kept);
  const ending = meant === null ? `Kept ${write(kept)}.` : `Did you mean ${write(meant)}?`;
  return { ok: false, sentence: `${name}: ${write(value)} is ${side}. ${ending}` };
}

/** The same figure with another prefix, inside the limits and nearest to the kept value; null when there is none. */
function scaledIntoRange(value: number, parameter: NumberParameter, kept: number): number | null {
  if (!takesPrefix(parameter.unit) || !(value > 0) || !(kept > 0)) return null;
  const [mantissa, exponent] = value.toExponential().split('e') as [string, string];
  let best: number | null = null;
  for (let shift = -12; shift <= 12; shift += 3) {
    const candidate = Number(`${mantissa}e${Number(exponent) + shift}`);
    if (!(candidate >= parameter.minimum && candidate <= parameter.maximum)) continue;
    const distance = Math.max(candidate / kept, kept / candidate);
    if (best === null || distance < Math.max(best / kept, kept / best)) best = candidate;
  }
  return best;
}
