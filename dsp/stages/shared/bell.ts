/** A bell by its prototype and by its circuit: centre, amount and Q, said alike of either. */
import type { Complex } from '../../circuit/index.ts';
import { log, log10, power, ratioToDecibels } from '../../math/index.ts';
import type { CurveMark, StageReading } from '../contract.ts';
import { divided, complex, magnitude, subtracted } from './complex.ts';
import { formatValue } from './format-value.ts';

/**
 * What a bell is. Q is that of the side that is there whatever the amount: of the poles where it lifts, of the zeros where it cuts, so that a cut is the mirror of the lift. Its bandwidth centre/Q lies between the
 * two frequencies where |H − 1| (cut: |1/H − 1|) has fallen to 1/√2 of its largest.
 */
export interface Bell {
  readonly centreHz: number;
  readonly amountDb: number;
  readonly quality: number;
  readonly fromHz: number;
  readonly toHz: number;
}

/** Series resonance of a leg: `ohms` in series with `henries` and `farads`. */
export interface ResonantLeg {
  readonly ohms: number;
  readonly henries: number;
  readonly farads: number;
}

/** The prototype: H = (s² LC + s C (r + R x) + 1) / (s² LC + s C (r + R (1 − x)) + 1), r with what the pot adds. */
export function idealBell({ ohms, henries, farads }: ResonantLeg, armOhms: number, [toPlus, toMinus]: readonly [number, number]): Bell {
  const share = toPlus / (toPlus + toMinus);
  const inLeg = ohms + (toPlus * toMinus) / (toPlus + toMinus);
  const [lift, cut] = [inLeg + armOhms * share, inLeg + armOhms * (1 - share)];
  const centreHz = 1 / (2 * Math.PI * Math.sqrt(henries * farads));
  const quality = Math.sqrt(henries / farads) / Math.min(lift, cut);
  // Band edges of a second-order band-pass: their product is the centre squared, their distance centre/Q.
  const half = centreHz / quality / 2;
  const middle = Math.sqrt(centreHz * centreHz + half * half);
  return { centreHz, amountDb: ratioToDecibels(lift / cut), quality, fromHz: middle - half, toHz: middle + half };
}

/** Below this amount a bell has neither centre nor Q worth telling, dB. */
const flatDb = 0.1;
/** How far round the expected centre it is looked for, a ratio, and in how many steps. */
const searchRatio = 4;
const searchSteps = 120;
const bisections = 22;

/**
 * The bell in a response, looked for round `near`; null where it is flat, or where it does not fall off on both sides within a factor of 4 (of 400 for its edges). Centre within 1e-6, edges within 1e-7.
 */
export function bellIn(response: (hertz: readonly number[]) => readonly Complex[], near: Bell): Bell | null {
  if (Math.abs(near.amountDb) < flatDb) return null;
  const lifts = near.amountDb > 0;
  const away = (hertz: readonly number[]): number[] => response(hertz).map((h) => magnitude(subtracted(lifts ? h : divided(complex(1), h), complex(1))));
  const centre = peakOf(away, near.centreHz / searchRatio, near.centreHz * searchRatio);
  if (centre === null) return null;
  const [top] = away([centre]);
  const edge = (towards: number): number | null => {
    let [inside, outside] = [centre, centre];
    for (let k = 0; k < 24 && away([outside])[0]! > top! * Math.SQRT1_2; k += 1) {
      inside = outside;
      outside *= towards;
    }
    if (away([outside])[0]! > top! * Math.SQRT1_2) return null;
    for (let k = 0; k < bisections; k += 1) {
      const middle = Math.sqrt(inside * outside);
      if (away([middle])[0]! > top! * Math.SQRT1_2) inside = middle;
      else outside = middle;
    }
    return Math.sqrt(inside * outside);
  };
  const fromHz = edge(1 / 1.3);
  const toHz = edge(1.3);
  if (fromHz === null || toHz === null) return null;
  return { centreHz: centre, amountDb: ratioToDecibels(magnitude(response([centre])[0]!)), quality: centre / (toHz - fromHz), fromHz, toHz };
}

/** Frequency of the largest value strictly between the ends: a grid by ratio, then a parabola through the best three, thrice closer. */
function peakOf(height: (hertz: readonly number[]) => readonly number[], fromHz: number, toHz: number): number | null {
  let [from, to] = [fromHz, toHz];
  let best = from;
  for (let round = 0; round < 4; round += 1) {
    const steps = round === 0 ? searchSteps : 8;
    const step = power(to / from, 1 / steps);
    const hertz = Array.from({ length: steps + 1 }, (_, k) => from * power(step, k));
    const heights = height(hertz);
    const top = heights.indexOf(Math.max(...heights));
    if (top <= 0 || top >= steps) return round === 0 ? null : best;
    const [a, b, c] = [heights[top - 1]!, heights[top]!, heights[top + 1]!];
    const bend = a - 2 * b + c;
    best = hertz[top]! * power(step, bend < 0 ? (a - c) / (2 * bend) : 0);
    [from, to] = [hertz[top - 1]!, hertz[top + 1]!];
  }
  return best;
}

const hz = (value: number): string => formatValue(Number(value.toPrecision(4)), 'Hz');

/** Centre, amount, Q and ringing of the circuit, each beside what the values on the drawing were meant for. */
export function bellReadings(ideal: Bell, found: Bell | null): readonly StageReading[] {
  if (found === null) return [];
  return [
    { label: 'centre', value: found.centreHz, quantity: 'frequency', unit: 'Hz', note: `ideal ${hz(ideal.centreHz)}` },
    { label: 'amount', value: found.amountDb, quantity: 'gain', unit: 'dB', note: `at the centre; ideal ${formatValue(Number(ideal.amountDb.toFixed(2)), 'dB')}` },
    { label: 'Q', value: found.quality, quantity: 'quality', unit: '', note: `of the ${found.amountDb > 0 ? 'poles: what lifts' : 'zeros: what cuts'}; ideal ${formatValue(ideal.quality, '')}` },
    {
      label: 'ringing time', value: (ringingFactor * found.quality) / found.centreHz, quantity: 'time', unit: 's',
      note: found.amountDb > 0 ? 'until 60 dB down, 2.2 Q over the centre' : 'of the lift it mirrors; a cut rings less, by its amount',
    },
  ];
}

/** T60 of a resonance: 3 ln 10 / π, times Q over the centre. */
const ringingFactor = (3 * log(10)) / Math.PI;

export const bellMarks = (found: Bell | null): readonly CurveMark[] => (found === null ? [] : [{
  kind: 'bandwidth', fromHz: found.fromHz, toHz: found.toHz, db: found.amountDb / 2, words: `Q ${formatValue(Number(found.quality.toPrecision(3)), '')}, ${formatValue(Number((log10(found.toHz / found.fromHz) / log10(2)).toPrecision(3)), '')} octaves`,
}]);

export const bellCaption = (found: Bell | null, largest: { readonly db: number; readonly hz: number }): string =>
  `${found === null ? 'Flat' : `${Number(found.amountDb.toFixed(1))} dB at ${hz(found.centreHz)}, Q ${Number(found.quality.toPrecision(3))}`}; largest difference to the ideal curve ${Number(largest.db.toFixed(2))} dB at ${hz(Number(largest.hz.toPrecision(2)))}.`;

/** How far below the gain-bandwidth a centre must stay, so that the amplifiers still are amplifiers there. */
const bandwidthOverCentre = 40;

/** Why a resonance cannot be made with amplifiers of this gain-bandwidth; null when it can. */
export function refuseCentre({ henries, farads }: ResonantLeg, gainBandwidthHz: number): string | null {
  const centreHz = 1 / (2 * Math.PI * Math.sqrt(henries * farads));
  const highest = gainBandwidthHz / bandwidthOverCentre;
  return centreHz <= highest ? null
    : `gainBandwidthHz: expected at least ${bandwidthOverCentre} times the centre, ${formatValue(centreHz * bandwidthOverCentre, 'Hz')} for ${formatValue(centreHz, 'Hz')}, since the amplifiers must follow, got ${formatValue(gainBandwidthHz, 'Hz')}`;
}
