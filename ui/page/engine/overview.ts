/** Columns of the overview of a loop. */
const columns = 600;

/** Pairs (minimum, maximum) of all channels by column, for drawing. */
export function overviewOf(channels: readonly Float64Array[]): Float32Array {
  const overview = new Float32Array(2 * columns);
  const frames = channels[0]?.length ?? 0;
  for (let column = 0; column < columns; column += 1) {
    const start = Math.floor((column * frames) / columns);
    const end = Math.floor(((column + 1) * frames) / columns);
    let least = 0;
    let most = 0;
    for (const channel of channels) {
      for (let i = start; i < end; i += 1) {
        const sample = channel[i]!;
        if (sample < least) least = sample;
        if (sample > most) most = sample;
      }
    }
    overview[2 * column] = least;
    overview[2 * column + 1] = most;
  }
  return overview;
}
