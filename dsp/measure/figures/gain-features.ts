/** What is to be read off an incremental gain: its size at rest, the notch of a crossover, where it has fallen to half. */
import { ratioToDecibels } from '../../math/index.ts';

/** Gain at one input voltage. */
export interface GainPlace {
  readonly inputVolts: number;
  readonly gain: number;
}

export interface GainFeatures {
  readonly atRest: number;
  /** The largest by size. */
  readonly most: { readonly gain: number; readonly atVolts: number };
  /** Lowest place between two shoulders: where, how far under the lower shoulder, and from where to where it is under the middle between the two heights. Null: none. */
  readonly notch: { readonly atVolts: number; readonly gain: number; readonly depthDb: number; readonly fromVolts: number; readonly toVolts: number } | null;
  /** Nearest to rest on either side from where on the gain stays under half of its size at rest or, with a notch, of its shoulders; null: nowhere. */
  readonly halfBelow: number | null;
  readonly halfAbove: number | null;
}

/** Shallower is ripple of a curve, not a notch. */
const leastNotchDb = 0.05;
/** A notch lies nearer to rest than this share of the range: further out are rails. */
const notchWithin = 0.1;
/** Deeper than this share of its shoulders there is no gain at all. */
const leastSize = 1e-6;

/** `places` ascending, rest among them. */
export function featuresOf(places: readonly GainPlace[]): GainFeatures {
  const line = places.map(({ inputVolts, gain }) => ({ x: inputVolts, gain }));
  const rest = line.reduce((best, place, k) => (Math.abs(place.x) < Math.abs(line[best]!.x) ? k : best), 0);
  const sign = line[rest]!.gain < 0 ? -1 : 1;
  const size = line.map(({ gain }) => sign * gain);
  const most = size.reduce((best, each, k) => (each > size[best]! ? k : best), rest);
  const notch = notchOf(line.map(({ x }) => x), size);
  const reference = notch === null ? size[rest]! : notch.shoulder;
  const stays = (step: 1 | -1): number | null => {
    let last = step === 1 ? line.length - 1 : 0;
    if (!(size[last]! < reference / 2)) return null;
    while (last !== rest && size[last - step]! < reference / 2) last -= step;
    if (last === rest) return null;
    const inside = line[last - step]!;
    const outside = line[last]!;
    const share = (size[last - step]! - reference / 2) / (size[last - step]! - size[last]!);
    return inside.x + share * (outside.x - inside.x);
  };
  return {
    atRest: line[rest]!.gain, most: { gain: line[most]!.gain, atVolts: line[most]!.x },
    notch: notch === null ? null : { ...notch, gain: sign * notch.size }, halfBelow: stays(-1), halfAbove: stays(1),
  };
}

/** The deepest place near rest that has something higher on both sides, judged by the lower of its two shoulders. */
function notchOf(x: readonly number[], size: readonly number[]): { readonly atVolts: number; readonly size: number; readonly depthDb: number; readonly fromVolts: number; readonly toVolts: number; readonly shoulder: number } | null {
  const highestBefore: number[] = [];
  size.forEach((each, k) => highestBefore.push(Math.max(each, highestBefore[k - 1] ?? -Infinity)));
  const highestAfter = new Array<number>(size.length);
  for (let k = size.length - 1; k >= 0; k -= 1) highestAfter[k] = Math.max(size[k]!, highestAfter[k + 1] ?? -Infinity);
  const reach = notchWithin * Math.max(-x[0]!, x.at(-1)!);
  let best: { readonly k: number; readonly depthDb: number; readonly shoulder: number } | null = null;
  for (let k = 1; k < size.length - 1; k += 1) {
    const shoulder = Math.min(highestBefore[k]!, highestAfter[k]!);
    if (Math.abs(x[k]!) > reach || !(shoulder > 0)) continue;
    const depthDb = ratioToDecibels(shoulder / Math.max(size[k]!, leastSize * shoulder));
    if (depthDb > (best?.depthDb ?? leastNotchDb)) best = { k, depthDb, shoulder };
  }
  if (best === null) return null;
  const { k, depthDb, shoulder } = best;
  const middle = (size[k]! + shoulder) / 2;
  let from = k;
  let to = k;
  while (from > 0 && size[from]! < middle) from -= 1;
  while (to < size.length - 1 && size[to]! < middle) to += 1;
  return { atVolts: x[k]!, size: size[k]!, depthDb, fromVolts: x[from]!, toVolts: x[to]!, shoulder };
}
