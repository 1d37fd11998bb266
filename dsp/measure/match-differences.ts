/** What a level match leaves different: two sides equally loud by one number differ in level by bands, in r.m.s. and in peaks. Off the audio thread. */
import { cosineWindow, decibelsToRatio, ratioToDecibels, RealFft, WINDOW_TERMS } from '../math/index.ts';
import { TruePeakMeter } from '../listening/index.ts';
import { bandsBelow, between } from './spectrum.ts';

/** A third octave (IEC 61260-1:2014, base 10) of both sides, gains of the match applied. */
export interface BandDifference {
  /** As the standard names the band: 25, 31.5, … 20000. */
  readonly nominalHz: number;
  /** Mean level re a sine of full scale; −Infinity for silence. */
  readonly inDb: number;
  readonly outDb: number;
  /** In less out; null where there is no signal to speak of: both sides lie `signalRangeDb` or more under all of the louder one. */
  readonly differenceDb: number | null;
}

/** In circuit less out of circuit (the first of a pair less the second), over the region that was matched. */
export interface MatchDifferences {
  readonly rmsDb: number;
  readonly truePeakDb: number;
  readonly bands: readonly BandDifference[];
}

/** A band weaker than this beside the whole has no signal of its own to compare. Our own choice: music keeps its treble above it, what rounds a file off lies under it. */
export const signalRangeDb = 60;

/** Lines are about this far apart: five in the lowest third octave, 5.8 Hz wide. */
const lineHz = 1.5;
/** Windows over every sample: their squares then sum to the same everywhere, within a hundredth. */
const overlap = 4;
/** The lowest band. */
const lowestHz = 24;

/** The nominal mid-bands of a decade: IEC 61260-1:2014, annex E (from memory), which are the preferred numbers R 10. */
const nominalOfDecade = [1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8] as const;

/**
 * One side of a comparison, as it comes: mean powers of its lines, its mean square and true peak. Half-open windows of Hann start evenly over the region, which goes round (P. D. Welch 1967, as in `spectrum.ts`);
 * a band's power is the sum of its lines, each spread over its own width. Such bands are rectangles: a tone three lines or more (4.4 Hz) from an edge is read to 0.01 dB, one nearer is shared
 * with the neighbour, where a filter of class 1 would share it too. A gain is read exactly. Memory: two windows a channel, however long the region.
 */
export class DifferenceMeter {
  readonly #rateHz: number;
  readonly #frames: number;
  readonly #size: number;
  readonly #starts: readonly number[];
  readonly #fft: RealFft;
  readonly #window: Float64Array;
  readonly #heads: readonly Float64Array[];
  readonly #rings: readonly Float64Array[];
  readonly #piece: Float64Array;
  readonly #re: Float64Array;
  readonly #im: Float64Array;
  readonly #powers: Float64Array;
  readonly #peak: TruePeakMeter;
  #sumOfSquares = 0;
  #pushed = 0;
  #nextWindow = 0;

  /** `frames`: of the whole region, at least one. */
  constructor(rateHz: number, channelCount: number, frames: number) {
    let size = 2;
    while (rateHz / size > lineHz) size *= 2;
    const count = Math.max(1, Math.ceil((overlap * frames) / size));
    const room = (length: number): Float64Array[] => Array.from({ length: channelCount }, () => new Float64Array(length));
    this.#rateHz = rateHz;
    this.#frames = frames;
    this.#size = size;
    this.#starts = Array.from({ length: count }, (_, k) => Math.round((k * frames) / count));
    this.#fft = new RealFft(size);
    this.#window = cosineWindow(WINDOW_TERMS.hann, size);
    this.#heads = room(Math.min(size, frames));
    this.#rings = room(size);
    this.#piece = new Float64Array(size);
    this.#re = new Float64Array(size / 2 + 1);
    this.#im = new Float64Array(size / 2 + 1);
    this.#powers = new Float64Array(size / 2 + 1);
    this.#peak = new TruePeakMeter(channelCount);
  }

  /** The region from its start, in pieces of any size. */
  push(channels: readonly Float64Array[], start: number, frames: number): void {
    this.#peak.push(channels, start, frames);
    for (let done = 0; done < frames;) {
      const due = (this.#starts[this.#nextWindow] ?? Infinity) + this.#size - this.#pushed;
      const count = Math.min(frames - done, due);
      this.#keep(channels, start + done, count);
      done += count;
      if (count === due) this.#transform();
    }
  }

  /** Call once, after the whole region: the windows that reach round its end. Yields after each. */
  *finish(): Generator<undefined, void> {
    while (this.#nextWindow < this.#starts.length) {
      this.#transform();
      yield undefined;
    }
    this.#peak.finish();
  }

  get meanSquare(): number {
    return this.#sumOfSquares / (this.#frames * this.#rings.length);
  }

  get truePeakDb(): number {
    return this.#peak.truePeakDb;
  }

  /** Mean square of each third octave. */
  bandPowers(): number[] {
    const spacingHz = this.#rateHz / this.#size;
    const weight = this.#window.reduce((sum, w) => sum + w * w, 0);
    // By Parseval: two of every pair of lines; bands begin above 0 Hz and end below half the rate.
    const scale = 2 / (this.#starts.length * this.#rings.length * this.#size * weight);
    return thirdOctaves(this.#rateHz).map(({ fromHz, toHz }) => scale * between(this.#powers, fromHz / spacingHz, toHz / spacingHz));
  }

  #keep(channels: readonly Float64Array[], start: number, count: number): void {
    for (let channel = 0; channel < this.#rings.length; channel += 1) {
      const [samples, head, ring] = [channels[channel]!, this.#heads[channel]!, this.#rings[channel]!];
      for (let i = 0; i < count; i += 1) {
        const sample = samples[start + i]!;
        const frame = this.#pushed + i;
        if (frame < head.length) head[frame] = sample;
        ring[frame % this.#size] = sample;
        this.#sumOfSquares += sample * sample;
      }
    }
    this.#pushed += count;
  }

  /** The next window; what lies beyond the region's end is its beginning. */
  #transform(): void {
    const start = this.#starts[this.#nextWindow]!;
    for (let channel = 0; channel < this.#rings.length; channel += 1) {
      const [head, ring] = [this.#heads[channel]!, this.#rings[channel]!];
      for (let n = 0; n < this.#size; n += 1) {
        const frame = start + n;
        this.#piece[n] = this.#window[n]! * (frame < this.#frames ? ring[frame % this.#size]! : head[(frame - this.#frames) % this.#frames]!);
      }
      this.#fft.forward(this.#piece, this.#re, this.#im);
      for (let line = 0; line < this.#powers.length; line += 1) this.#powers[line] = this.#powers[line]! + this.#re[line]! * this.#re[line]! + this.#im[line]! * this.#im[line]!;
    }
    this.#nextWindow += 1;
  }
}

/** Of two meters that have finished, under the gains of the match. */
export function matchDifferences(inside: DifferenceMeter, outside: DifferenceMeter, rateHz: number, inGainDb: number, outGainDb: number): MatchDifferences {
  const [inPower, outPower] = [decibelsToRatio(2 * inGainDb), decibelsToRatio(2 * outGainDb)];
  const [inSquare, outSquare] = [inside.meanSquare * inPower, outside.meanSquare * outPower];
  const least = Math.max(inSquare, outSquare) * decibelsToRatio(-2 * signalRangeDb);
  const [inBands, outBands] = [inside.bandPowers(), outside.bandPowers()];
  return {
    rmsDb: powerDb(inSquare / outSquare),
    truePeakDb: inside.truePeakDb + inGainDb - (outside.truePeakDb + outGainDb),
    bands: thirdOctaves(rateHz).map(({ centreHz }, k) => {
      const [inBand, outBand] = [inBands[k]! * inPower, outBands[k]! * outPower];
      return {
        nominalHz: nominalHz(centreHz), inDb: powerDb(2 * inBand), outDb: powerDb(2 * outBand), differenceDb: Math.max(inBand, outBand) >= least ? powerDb(inBand / outBand) : null,
      };
    }),
  };
}

/** The band that differs most; null where none has a signal. */
export function mostDifferent({ bands }: MatchDifferences): (BandDifference & { readonly differenceDb: number }) | null {
  let most: (BandDifference & { readonly differenceDb: number }) | null = null;
  for (const band of bands) {
    const { differenceDb } = band;
    if (differenceDb !== null && (most === null || Math.abs(differenceDb) > Math.abs(most.differenceDb))) most = { ...band, differenceDb };
  }
  return most;
}

function thirdOctaves(rateHz: number): ReturnType<typeof bandsBelow> {
  return bandsBelow('third-octave', rateHz).filter(({ centreHz }) => centreHz > lowestHz);
}

function powerDb(powerRatio: number): number {
  return ratioToDecibels(Math.sqrt(powerRatio));
}

/** The preferred number of a base-ten centre. */
function nominalHz(centreHz: number): number {
  let decade = 1;
  while (centreHz / decade >= 9) decade *= 10;
  const nearest = nominalOfDecade.reduce((best, each) => (Math.abs(each * decade - centreHz) < Math.abs(best - centreHz) ? each * decade : best), 10 * decade);
  // 3.15 × 10 is not 31.5 to the bit.
  return Math.round(100 * nearest) / 100;
}
