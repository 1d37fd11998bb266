/**
 * Harmonics of a wave known at uneven times: a natural cubic spline through its points (de Boor: A Practical Guide to Splines, 1978, chapter IV), projected over whole periods by Gauss's quadrature of five points
 * a piece (exact to the ninth degree: the error is that of the spline).
 */
const nodes = [0, 1 / 3 * Math.sqrt(5 - 2 * Math.sqrt(10 / 7)), 1 / 3 * Math.sqrt(5 + 2 * Math.sqrt(10 / 7))];
const weights = [128 / 225, (322 + 13 * Math.sqrt(70)) / 900, (322 - 13 * Math.sqrt(70)) / 900];
const gauss = [[nodes[0]!, weights[0]!], [nodes[1]!, weights[1]!], [-nodes[1]!, weights[1]!], [nodes[2]!, weights[2]!], [-nodes[2]!, weights[2]!]] as const;

/** Peak of each order over the one period from `startSeconds` on. */
export function splineHarmonics(times: Float64Array, values: Float64Array, frequencyHz: number, startSeconds: number, orders: readonly number[]): Map<number, number> {
  const [t, y] = distinct(times, values);
  const curvature = secondDerivatives(t, y);
  const end = startSeconds + 1 / frequencyHz;
  const cosines = new Float64Array(orders.length);
  const sines = new Float64Array(orders.length);
  for (let k = 0; k + 1 < t.length; k += 1) {
    const from = Math.max(t[k]!, startSeconds);
    const to = Math.min(t[k + 1]!, end);
    if (to <= from) continue;
    for (const [node, weight] of gauss) {
      const at = (from + to) / 2 + node * (to - from) / 2;
      const volts = weight * (to - from) / 2 * splineValue(t, y, curvature, k, at);
      orders.forEach((order, place) => {
        const radians = 2 * Math.PI * frequencyHz * order * at;
        cosines[place] = cosines[place]! + volts * Math.cos(radians);
        sines[place] = sines[place]! + volts * Math.sin(radians);
      });
    }
  }
  return new Map(orders.map((order, place) => [order, 2 * frequencyHz * Math.hypot(cosines[place]!, sines[place]!)]));
}

function distinct(times: Float64Array, values: Float64Array): [Float64Array, Float64Array] {
  const kept = Array.from(times.keys()).filter((k) => k === 0 || times[k]! > times[k - 1]!);
  return [Float64Array.from(kept, (k) => times[k]!), Float64Array.from(kept, (k) => values[k]!)];
}

function secondDerivatives(t: Float64Array, y: Float64Array): Float64Array {
  const n = t.length;
  const m = new Float64Array(n);
  const above = new Float64Array(n);
  for (let k = 1; k + 1 < n; k += 1) {
    const [h, next] = [t[k]! - t[k - 1]!, t[k + 1]! - t[k]!];
    const pivot = 2 * (h + next) - h * above[k - 1]!;
    above[k] = next / pivot;
    m[k] = (6 * ((y[k + 1]! - y[k]!) / next - (y[k]! - y[k - 1]!) / h) - h * m[k - 1]!) / pivot;
  }
  for (let k = n - 2; k >= 0; k -= 1) m[k] = m[k]! - above[k]! * m[k + 1]!;
  return m;
}

function splineValue(t: Float64Array, y: Float64Array, m: Float64Array, k: number, at: number): number {
  const h = t[k + 1]! - t[k]!;
  const [a, b] = [(t[k + 1]! - at) / h, (at - t[k]!) / h];
  return a * y[k]! + b * y[k + 1]! + ((a * a * a - a) * m[k]! + (b * b * b - b) * m[k + 1]!) * h * h / 6;
}
