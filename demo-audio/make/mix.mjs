// Plain arithmetic on rendered parts: fold, swell, place, mix.

/**
 * Folds a rendering into a loop of `frames`: what rings on after the end is added to the beginning, what comes before beat 0 to the end.
 * Every note is rendered once, so the sum repeats exactly and the seam is an instant like any other.
 */
export function fold(signal, firstFrame, frames) {
  const loop = new Float64Array(frames);
  signal.forEach((sample, i) => {
    loop[(((i - firstFrame) % frames) + frames) % frames] += sample;
  });
  return loop;
}

/** Raised-cosine step from 0 to 1. */
const smooth = (t) => (t <= 0 ? 0 : t >= 1 ? 1 : 0.5 - 0.5 * Math.cos(Math.PI * t));

/** Gain in dB at a beat, from [beat, dB] points joined smoothly. */
export function swellDbAt(points, beat) {
  for (let i = 1; i < points.length; i += 1) {
    const [fromBeat, fromDb] = points[i - 1];
    const [toBeat, toDb] = points[i];
    if (beat <= toBeat) return fromDb + (toDb - fromDb) * smooth((beat - fromBeat) / (toBeat - fromBeat));
  }
  return points.at(-1)[1];
}

/** Fade in over the first and out over the last `fadeFrames` of `frames`, equal power, silence beyond: for notes that overlap their own repeat. */
export function fadeGain(index, frames, fadeFrames) {
  const rise = Math.sqrt(smooth(index / fadeFrames));
  const fall = Math.sqrt(smooth((frames - index) / fadeFrames));
  return rise * fall;
}

export const rms = (channels) => {
  let sum = 0;
  for (const channel of channels) for (const sample of channel) sum += sample * sample;
  return Math.sqrt(sum / (channels.length * channels[0].length));
};

/** First-order low-pass (exponential smoothing with this −3 dB corner) of a loop in its periodic steady state: run twice, the second pass kept. */
export function soften(loop, cornerHz, rateHz) {
  const share = 1 - Math.exp((-2 * Math.PI * cornerHz) / rateHz);
  let held = 0;
  const pass = () => loop.map((sample) => {
    held += share * (sample - held);
    return held;
  });
  pass();
  return pass();
}

/** Takes away the mean of a loop: nothing else of it is constant. */
export function withoutMean(loop) {
  const mean = loop.reduce((sum, sample) => sum + sample, 0) / loop.length;
  return loop.map((sample) => sample - mean);
}

/** Left and right gains of a place from −1 (left) to 1 (right), constant power, 1 and 1 in the middle. */
export function placeGains(pan) {
  const angle = ((pan + 1) * Math.PI) / 4;
  return [Math.SQRT2 * Math.cos(angle), Math.SQRT2 * Math.sin(angle)];
}
