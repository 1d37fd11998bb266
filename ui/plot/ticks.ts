/** Which values of an axis are drawn as lines, which of them are named, and what stands beside the axis. */
import { scaleLinear } from 'd3-scale';
import type { FigureAxis } from '../../dsp/measure/figures/index.ts';
import { isDecibel, isDegree, prefixFor } from './numbers.ts';
import { textWidthPx } from './text-width.ts';

export interface Tick {
  readonly value: number;
  /** Empty: a line without a name. */
  readonly label: string;
  /** Between those that a scale counts by: drawn finer. */
  readonly minor: boolean;
}

export interface AxisTicks {
  readonly ticks: readonly Tick[];
  /** "input level, dBu": name and unit; the unit is left out where every tick carries it. */
  readonly title: string;
}

export interface TickRoom {
  readonly lengthPx: number;
  /** Whether names stand beside one another (else one above the other). */
  readonly across: boolean;
  readonly typePx: number;
  /** Counted things, such as the orders of harmonics: there is nothing between whole numbers. */
  readonly whole?: boolean;
}

/** Steps of decibels and of degrees that people count by; of all else 1, 2 and 5. */
const decibelSteps = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 3, 6, 10, 12, 20, 40, 60, 100];
const wholeSteps = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000];
const degreeSteps = [0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 45, 90, 180, 360, 720];

/** Least distance of names one above the other, in sizes of the type; gap between names beside one another. */
const uprightGap = 2.1;
const acrossGap = 1.1;

const titleOf = (label: string, unit: string): string => (unit === '' ? label : label === '' ? unit : `${label}, ${unit}`);

export function axisTicks(axis: FigureAxis, room: TickRoom): AxisTicks {
  return axis.scale === 'logarithmic' ? logarithmicTicks(axis, room) : linearTicks(axis, room);
}

/** The step with which names do not crowd: one that both ends are multiples of, if it is not much longer than the shortest. */
function stepFrom(steps: readonly number[], { from, to }: FigureAxis, least: number): number | undefined {
  const shortest = steps.find((step) => step >= least);
  if (shortest === undefined) return undefined;
  const whole = (value: number, step: number): boolean => Math.abs(value / step - Math.round(value / step)) < 1e-6;
  const tidy = steps.filter((step) => step >= least && step <= 2 * shortest && whole(from, step) && whole(to, step));
  // Tens are read more easily than sixes and twelves.
  return tidy.find((step) => step === 10 || step === 20) ?? tidy[0] ?? shortest;
}

function linearTicks(axis: FigureAxis, { lengthPx, across, typePx, whole = false }: TickRoom): AxisTicks {
  const { from, to, unit } = axis;
  const span = Math.abs(to - from);
  const prefix = axis.written === 'prefixed' && unit !== '' ? prefixFor(Math.max(Math.abs(from), Math.abs(to))) : prefixFor(1);
  const steps = whole ? wholeSteps : isDecibel(unit) ? decibelSteps : isDegree(unit) ? degreeSteps : undefined;
  const ticksWith = (gapPx: number): Tick[] => {
    const count = Math.max(1, Math.floor(lengthPx / gapPx));
    const step = steps && stepFrom(steps, axis, span / (lengthPx / gapPx) * (1 - 1e-9));
    const values = step === undefined ? scaleLinear().domain([from, to]).ticks(count) : multiples(step, Math.min(from, to), Math.max(from, to));
    const apart = values.length > 1 ? Math.abs(values[1]! - values[0]!) / 10 ** prefix.power : 1;
    const decimals = Math.min(10, Math.max(0, -Math.floor(Math.log10(apart) + 1e-6), decimalsOf(apart)));
    return values.map((value) => ({ value, label: writeTick(value / 10 ** prefix.power, decimals, isDecibel(unit) && from < 0 && to > 0), minor: false }));
  };
  let gapPx = across ? 4 * typePx : uprightGap * typePx;
  let ticks = ticksWith(gapPx);
  if (across) {
    // Names are as wide as the numbers are long: fewer of them until they stand clear.
    const widest = (): number => Math.max(...ticks.map(({ label }) => textWidthPx(label, typePx))) + acrossGap * typePx;
    for (let tries = 0; tries < 6 && ticks.length > 2 && widest() > (lengthPx * Math.abs(ticks[1]!.value - ticks[0]!.value)) / span; tries += 1) {
      gapPx *= 1.5;
      ticks = ticksWith(gapPx);
    }
  }
  return { ticks, title: titleOf(axis.label, prefix.symbol + unit) };
}

function multiples(step: number, low: number, high: number): number[] {
  const first = Math.ceil(low / step - 1e-6);
  return Array.from({ length: Math.floor(high / step + 1e-6) - first + 1 }, (_, k) => (first + k) * step);
}

/** Decimals that a step needs: 0.25 two, 20 none. */
function decimalsOf(step: number): number {
  return [0, 1, 2, 3, 4].find((decimals) => Math.abs(step * 10 ** decimals - Math.round(step * 10 ** decimals)) < 1e-6 * step * 10 ** decimals) ?? 4;
}

function writeTick(value: number, decimals: number, plus: boolean): string {
  const text = Math.abs(value).toFixed(decimals);
  if (!/[1-9]/.test(text)) return '0';
  return `${value < 0 ? '−' : plus ? '+' : ''}${text}`;
}

/** Lines at every whole multiple of a decade; names at 1, 2 and 5 where they stand clear, else at decades and the ends, else at some decades. */
function logarithmicTicks(axis: FigureAxis, room: TickRoom): AxisTicks {
  const [low, high] = [Math.min(axis.from, axis.to), Math.max(axis.from, axis.to)];
  const decades = Math.log10(high / low);
  const inside = (value: number): boolean => value >= low * (1 - 1e-9) && value <= high * (1 + 1e-9);
  const title = titleOf(axis.label, axis.written === 'prefixed' ? '' : axis.unit);
  const perDecade = (digits: readonly number[]): number[] => {
    const first = Math.floor(Math.log10(low) - 1e-9);
    return Array.from({ length: Math.ceil(decades) + 2 }, (_, k) => digits.map((digit) => Number(`${digit}e${first + k}`))).flat().filter(inside);
  };
  const place = (value: number): number => (room.lengthPx * Math.log10(value / low)) / decades;
  const nameOf = (value: number): string => logarithmicLabel(value, axis);
  const clear = (values: readonly number[]): boolean => values.slice(1).every((value, k) => {
    const before = values[k]!;
    const needed = room.across ? (textWidthPx(nameOf(value), room.typePx) + textWidthPx(nameOf(before), room.typePx)) / 2 + acrossGap * room.typePx : 1.8 * room.typePx;
    return place(value) - place(before) >= needed;
  });
  const oneTwoFive = perDecade([1, 2, 5]);
  const whole = perDecade([1]);
  const tidyEnds = [low, high].filter((end) => oneTwoFive.some((value) => Math.abs(value / end - 1) < 1e-9));
  // Decades, and an end of the axis too where it stands clear of them.
  const withEnds = tidyEnds.reduce((values, end) => {
    const more = [...new Set([...values, end])].sort((a, b) => a - b);
    return clear(more) ? more : values;
  }, whole);
  const sparse = [2, 3, 4, 6].map((every) => whole.filter((value) => Math.round(Math.log10(value)) % every === 0));
  // Less than a decade has too few of them: counted like a linear axis.
  const few = oneTwoFive.length < 3 ? scaleLinear().domain([low, high]).ticks(5).filter(inside) : [];
  const named = [...(few.length > 0 ? [few] : []), oneTwoFive, withEnds, ...sparse].find((values) => values.length > 0 && clear(values)) ?? whole.slice(0, 1);
  const lines = room.lengthPx / decades >= 48 ? perDecade([1, 2, 3, 4, 5, 6, 7, 8, 9]) : whole;
  const values = [...new Set([...lines, ...named])].sort((a, b) => a - b);
  return { ticks: values.map((value) => ({ value, label: named.includes(value) ? nameOf(value) : '', minor: !named.includes(value) && !whole.includes(value) })), title };
}

function logarithmicLabel(value: number, { unit, written }: FigureAxis): string {
  const { power, symbol } = written === 'prefixed' ? prefixFor(value) : prefixFor(1);
  const scaled = Number((value / 10 ** power).toPrecision(6));
  const figure = scaled >= 1e-4 && scaled < 1e6 ? String(scaled) : scaled.toExponential().replace('e+', 'e').replace('-', '−');
  return written === 'prefixed' && unit !== '' ? `${figure} ${symbol}${unit}` : figure + symbol;
}
