/** What one edge of a wave says: rise time, overshoot, tilt, slew rate, settling. Pure. */

/** Of one plateau, from the edge to the next. */
export interface EdgeFigures {
  /** What the plateau's curve, led back to the edge, differs from what stood before it, V; signed. */
  readonly stepVolts: number;
  /** From 10 to 90 % of the step, s; NaN where the wave never gets there. */
  readonly riseSeconds: number;
  /** Of the step, beyond the plateau's curve; 0: none. */
  readonly overshootRatio: number;
  /** Fall of the plateau from edge to end over its mean height above the middle of the wave; negative: it rises. */
  readonly tiltRatio: number;
  /** Largest step from one sample to the next over their distance, V/s. */
  readonly slewVoltsPerSecond: number;
  /** From the edge until the wave stays within 1 % and 0.1 % of the step of the plateau's curve, s; NaN: not before its end. */
  readonly settlingSeconds: readonly [onePercent: number, oneThousandth: number];
}

/** The plateau's curve is a parabola, by least squares over this last share of it: what rings has died away there, a sag of several per cent bends it little. */
const plateauShare = 0.6;
/** IEEE Std 181-2011 (transitions, pulses, related waveforms; from memory): reference levels of 10 and 90 %. */
const references = [0.1, 0.9] as const;
const settled = [0.01, 0.001] as const;

/**
 * `wave` from sample `edge` on, `frames` of them; sample `edge` is the first at which the input has changed, the one before it (`beforeVolts`) the last at which it has not. `middleVolts`: what tilt is
 * counted from.
 */
export function edgeFigures(wave: ArrayLike<number>, edge: number, frames: number, { beforeVolts, middleVolts, rateHz }: { readonly beforeVolts: number; readonly middleVolts: number; readonly rateHz: number }): EdgeFigures {
  const at = (k: number): number => (k < 0 ? beforeVolts : wave[(edge + k) % wave.length]!);
  const curve = parabola(at, frames);
  const [first, last] = [curve(0), curve(frames - 1)];
  const stepVolts = first - beforeVolts;
  const share = (k: number): number => (at(k) - beforeVolts) / stepVolts;
  let slew = 0;
  let over = 0;
  const settling = [NaN, NaN];
  const lastOutside = [-1, -1];
  for (let k = 0; k < frames; k += 1) {
    slew = Math.max(slew, Math.abs(at(k) - at(k - 1)));
    const beyond = (at(k) - curve(k)) / stepVolts;
    if (beyond > over) over = beyond;
    settled.forEach((limit, j) => {
      if (!(Math.abs(beyond) <= limit)) lastOutside[j] = k;
    });
  }
  settled.forEach((_, j) => {
    if (lastOutside[j]! < frames - 1) settling[j] = (lastOutside[j]! + 1) / rateHz;
  });
  const [low, high] = references.map((reference) => crossing(share, reference, frames)) as [number, number];
  return {
    stepVolts, riseSeconds: (high - low) / rateHz, overshootRatio: over > 1e-6 ? over : 0,
    tiltRatio: (2 * (first - last)) / (first + last - 2 * middleVolts), slewVoltsPerSecond: slew * rateHz, settlingSeconds: [settling[0]!, settling[1]!],
  };
}

/** Frames after the edge at which the wave first reaches a share of the step, between samples on the straight line. */
function crossing(share: (k: number) => number, reference: number, frames: number): number {
  for (let k = 0; k < frames; k += 1) {
    const [before, here] = [share(k - 1), share(k)];
    if (here >= reference) return k - 1 + (reference - before) / (here - before);
  }
  return NaN;
}

/** Least squares over the last part of a plateau, in a variable that goes from −1 to 1 over it. */
function parabola(at: (k: number) => number, frames: number): (k: number) => number {
  const start = Math.min(frames - 3, Math.floor((1 - plateauShare) * frames));
  const count = frames - start;
  const u = (k: number): number => (2 * (k - start)) / (count - 1) - 1;
  const sums = { one: 0, uu: 0, uuuu: 0, y: 0, yu: 0, yuu: 0 };
  for (let k = start; k < frames; k += 1) {
    const [x, y] = [u(k), at(k)];
    sums.one += 1;
    sums.uu += x * x;
    sums.uuuu += x * x * x * x;
    sums.y += y;
    sums.yu += y * x;
    sums.yuu += y * x * x;
  }
  // Odd sums vanish by symmetry.
  const slope = sums.yu / sums.uu;
  const determinant = sums.one * sums.uuuu - sums.uu * sums.uu;
  const bend = (sums.one * sums.yuu - sums.uu * sums.y) / determinant;
  const level = (sums.uuuu * sums.y - sums.uu * sums.yuu) / determinant;
  return (k) => level + slope * u(k) + bend * u(k) * u(k);
}
