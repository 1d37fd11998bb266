/** Long work in pieces. */

/** Samples done between two yields: well under a millisecond of sums and products. */
const pieceSamples = 16_384;

/** An array made entry by entry; yields between pieces. */
export function* made(length: number, entry: (index: number) => number): Generator<undefined, Float64Array> {
  const array = new Float64Array(length);
  for (let at = 0; at < length; at += pieceSamples) {
    const end = Math.min(length, at + pieceSamples);
    for (let i = at; i < end; i += 1) array[i] = entry(i);
    yield undefined;
  }
  return array;
}

/** Mean of the squares over all channels; yields between pieces. */
export function* meanSquareInSteps(channels: readonly Float64Array[]): Generator<undefined, number> {
  let sum = 0;
  for (const channel of channels) {
    for (let at = 0; at < channel.length; at += pieceSamples) {
      const end = Math.min(channel.length, at + pieceSamples);
      for (let i = at; i < end; i += 1) sum += channel[i]! * channel[i]!;
      yield undefined;
    }
  }
  return sum / (channels.length * channels[0]!.length);
}

/** The steps of one generator as a share of the work of another. */
export function* shared<Step, Result>(steps: Generator<Step, Result>, share: (step: Step) => number): Generator<number, Result> {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
    yield share(step.value);
  }
}
