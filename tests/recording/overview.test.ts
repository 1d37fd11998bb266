import { describe, expect, it } from 'vitest';
import { SeededRandom } from '../../dsp/math/index.ts';
import { OverviewMaker, overviewColumns, type Overview } from '../../dsp/recording/index.ts';

function overviewOf(channels: readonly Float64Array[], pieces: number): Overview {
  const maker = new OverviewMaker();
  for (let at = 0; at < channels[0]!.length; at += pieces) {
    const part = channels.map((channel) => channel.subarray(at, at + pieces));
    maker.take(part, part[0]!.length);
  }
  return maker.finish();
}

const random = new SeededRandom(7);
const noise = (frames: number) => Float64Array.from({ length: frames }, () => random.nextUnit() - 0.5);

/** By its definition. */
function columnsOf(channels: readonly Float64Array[], startFrame: number, endFrame: number, columns: number): Float32Array {
  const drawn = new Float32Array(2 * columns);
  for (let column = 0; column < columns; column += 1) {
    const from = Math.floor(startFrame + (column * (endFrame - startFrame)) / columns);
    const to = Math.max(from + 1, Math.floor(startFrame + ((column + 1) * (endFrame - startFrame)) / columns));
    const all = channels.flatMap((channel) => [...channel.subarray(from, to)]);
    drawn[2 * column] = Math.min(...all);
    drawn[2 * column + 1] = Math.max(...all);
  }
  return drawn;
}

describe('an overview', () => {
  it('is the same whatever pieces the samples come in', () => {
    const channels = [noise(10_000), noise(10_000)];
    expect(overviewOf(channels, 777)).toEqual(overviewOf(channels, 10_000));
  });

  it('joins blocks of a long recording and keeps every peak', () => {
    const long = new Float64Array(6_000_000);
    // In blocks of odd and of even number.
    long[4_999_935] = 0.75;
    long[2_000_000] = 0.625;
    long[123] = -0.5;
    long[3_005_000] = -0.25;
    const overview = overviewOf([long], 65_536);
    expect(overview.pairs.length).toBeLessThan(2 * 65_536);
    expect(overview.framesPerBlock).toBe(128);
    const drawn = overviewColumns(overview, 0, 6_000_000, 600, null);
    expect(drawn.indexOf(0.75)).toBe(2 * 499 + 1);
    expect(drawn.indexOf(0.625)).toBe(2 * 200 + 1);
    expect(drawn.indexOf(-0.5)).toBe(0);
    expect(drawn.indexOf(-0.25)).toBe(2 * 300);
  });

  it('draws columns of the samples where these are in memory and finer, of the blocks elsewhere', () => {
    const channels = [noise(20_000), noise(20_000)];
    const overview = overviewOf(channels, 4096);
    const memory = { channels, firstFrame: 0 };
    expect(overviewColumns(overview, 1000, 1300, 100, memory)).toEqual(columnsOf(channels, 1000, 1300, 100));
    expect(overviewColumns(overview, 1000, 1050, 100, memory)).toEqual(columnsOf(channels, 1000, 1050, 100));
    // Whole blocks.
    expect(overviewColumns(overview, 0, 19_200, 50, null)).toEqual(columnsOf(channels, 0, 19_200, 50));
    const part = { channels: channels.map((channel) => channel.subarray(5000, 6000)), firstFrame: 5000 };
    expect(overviewColumns(overview, 5000, 6000, 100, part)).toEqual(columnsOf(channels, 5000, 6000, 100));
    // Beside what is in memory each column has the block it lies in.
    const block = columnsOf(channels, 0, 64, 1);
    expect(overviewColumns(overview, 0, 64, 4, part)).toEqual(Float32Array.of(...block, ...block, ...block, ...block));
  });

  it('takes what is no number for nothing', () => {
    const overview = overviewOf([Float64Array.of(NaN, 0.5, NaN), Float64Array.of(NaN, NaN, NaN)], 3);
    expect([...overview.pairs]).toEqual([0.5, 0.5]);
    expect([...overviewOf([Float64Array.of(NaN)], 1).pairs]).toEqual([0, 0]);
  });
});
