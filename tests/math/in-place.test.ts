/** exp and tanh in an array's place: the bits of the plain ones. */
import { expect, it } from 'vitest';
import { exp, expInPlace, SeededRandom, tanh, tanhInPlace } from '../../dsp/math/index.ts';

const random = new SeededRandom(20261125);
const ends = [0, -0, 1e-300, -1e-300, 1e-9, 22.4, -22.6, 30, -30, NaN];
const arguments_ = [...ends, ...Array.from({ length: 20_000 }, () => (random.nextUnit() - 0.5) * 10 ** (4 * random.nextUnit() - 1.2))];

it.each([
  ['exp', exp, expInPlace, arguments_.filter((x) => !(x < -708 || x > 709)).concat(-708, 709)], ['tanh', tanh, tanhInPlace, arguments_.concat(Infinity, -Infinity, 700, -700)],
] as const)('%s', (_, plain, inPlace, values) => {
  expect(values.length).toBeGreaterThan(10_000);
  const place = new Float64Array(3);
  for (const x of values) {
    place.fill(7);
    place[1] = x;
    inPlace(place, 1);
    if (!Object.is(place[1], plain(x))) throw new Error(`${x}: expected ${plain(x)}, got ${place[1]}`);
    expect(place[0]! + place[2]!).toBe(14);
  }
});
