import { log10, pow10 } from '../../math/index.ts';

/** Nominal frequencies of third octaves in a decade (IEC 61260-1:2014, annex E). */
const nominal = [1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8] as const;
/** "1.25 kHz" of the band round 1259 Hz. */
export function bandWords(centreHz: number): string {
  const place = Math.round(10 * log10(centreHz));
  const hz = nominal[place % 10]! * pow10(Math.floor(place / 10));
  return hz < 1000 ? `${Number(hz.toPrecision(3))} Hz` : `${Number((hz / 1000).toPrecision(3))} kHz`;
}
