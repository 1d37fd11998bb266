/** What stands between the tones of a multitone: distortion and noise, by third octaves. */
import { ratioToDecibels } from '../../math/index.ts';
import { kilohertz } from './intermodulation-products.ts';
import { powerSpectrum } from './power-spectrum.ts';
import { thirdOctaves } from './third-octaves.ts';
import { whyUnreadable, type Metered, type WaveRecord } from './wave-record.ts';

export interface MultitoneReading {
  readonly spacingHz: number;
  readonly tones: readonly { readonly hz: number; readonly meanSquare: number }[];
  /** Of all tones together. */
  readonly tonesMeanSquare: number;
  /** Of all lines between the tones, 20 Hz – 20 kHz. */
  readonly betweenMeanSquare: number;
  /** Rms between the tones over the rms of the tones. */
  readonly ratio: number;
  readonly db: number;
  /** Of even lines and of odd ones without a tone, over the tones: even and odd laws of a period whose tones stand on odd lines. Null of a stretch. */
  readonly evenDb: number | null;
  readonly oddDb: number | null;
  /** Between the tones in each third octave, over all tones together. */
  readonly thirdsMeanSquare: Float64Array;
  /** Mean square of every line from 0 Hz, NaN where a tone stands. */
  readonly between: Float64Array;
}

const [lowHz, highHz] = [20, 20_000];
/** Of the strongest tone: a weaker one is not there. */
const leastTone = 1e-12;

/** By how much of a line's width a tone may miss it and still stand on it. */
const onLine = 1e-6;

/** Of a record driven with tones at these frequencies; `onOddLines`: they stand on odd lines of its period. */
export function meterMultitone(record: WaveRecord, tonesHz: readonly number[], { onOddLines = false } = {}): Metered<MultitoneReading> {
  const refusal = whyUnreadable(record);
  if (refusal !== null) return { refusal };
  const { power, spacingHz, spreadLines } = powerSpectrum(record);
  const lines = tonesHz.map((hz) => Math.round(hz / spacingHz));
  const nearest = lines.slice(1).reduce((least, line, k) => Math.min(least, line - lines[k]!), Infinity);
  // A tone that stands between two lines reaches one further.
  const besideLines = tonesHz.some((hz, k) => !(Math.abs(hz / spacingHz - lines[k]!) <= onLine));
  const reach = spreadLines === 0 ? 0 : spreadLines + (besideLines ? 1 : 0);
  if (!(nearest > 2 * reach + 1 || reach === 0)) return { refusal: `too short: lines ${kilohertz(spacingHz)} apart do not part tones that lie ${kilohertz(nearest * spacingHz)} apart` };
  const between = Float64Array.from(power);
  const tones = tonesHz.map((hz, k) => {
    let meanSquare = 0;
    for (let line = Math.max(0, lines[k]! - reach); line <= lines[k]! + reach && line < power.length; line += 1) {
      meanSquare += power[line]!;
      between[line] = NaN;
    }
    return { hz, meanSquare };
  });
  const strongest = tones.reduce((most, { meanSquare }) => Math.max(most, meanSquare), 0);
  const missing = tones.find(({ meanSquare }) => !(meanSquare > leastTone * strongest));
  if (missing || tones.length === 0) return { refusal: missing ? `no tone at ${kilohertz(missing.hz)}: this is not the multitone` : 'no tones were named: there is nothing between them' };
  const tonesMeanSquare = tones.reduce((sum, { meanSquare }) => sum + meanSquare, 0);
  const sumBetween = (fromHz: number, toHz: number, counts: (line: number) => boolean = () => true): number => {
    let sum = 0;
    for (let line = Math.max(1, Math.ceil(fromHz / spacingHz)); line < power.length && line * spacingHz < toHz; line += 1) {
      if (between[line]! >= 0 && counts(line)) sum += between[line]!;
    }
    return sum;
  };
  const betweenMeanSquare = sumBetween(lowHz, highHz * (1 + 1e-12));
  const over = (meanSquare: number): number => ratioToDecibels(Math.sqrt(meanSquare / tonesMeanSquare));
  const parted = onOddLines && reach === 0;
  return {
    spacingHz, tones, tonesMeanSquare, betweenMeanSquare, ratio: Math.sqrt(betweenMeanSquare / tonesMeanSquare), db: over(betweenMeanSquare),
    evenDb: parted ? over(sumBetween(lowHz, highHz * (1 + 1e-12), (line) => line % 2 === 0)) : null,
    oddDb: parted ? over(sumBetween(lowHz, highHz * (1 + 1e-12), (line) => line % 2 === 1)) : null,
    thirdsMeanSquare: Float64Array.from(thirdOctaves, ({ fromHz, toHz }) => sumBetween(fromHz, toHz)),
    between,
  };
}
