/**
 * Response of a chain of series and shunt branches with an ideal transformer in it, by going from the load back to the source: 1 V at the load, then the current and
 * voltage that each branch asks for. Exact for linear parts, and quick enough to look at hundreds of line lengths.
 */
import { ratioToDecibels } from '../../math/index.ts';

/** One branch: what it has of resistance, inductance and capacitance, all in series with one another. */
export interface Branch {
  readonly place: 'series' | 'shunt';
  readonly ohms?: number;
  readonly henries?: number;
  readonly farads?: number;
}

/** Primary over secondary turns of an ideal transformer. */
export interface Turns {
  readonly place: 'turns';
  readonly ratio: number;
}

/** From the source to the load. */
export type Ladder = readonly (Branch | Turns)[];

export interface LadderResponse {
  /** Magnitude of load voltage over source voltage. */
  readonly gainRatio: number;
  /** Magnitude of the current that leaves the source, A for 1 V of the source. */
  readonly sourceAmperesPerVolt: number;
}

/** At one frequency above 0. */
export function ladderResponse(ladder: Ladder, hz: number): LadderResponse {
  const omega = 2 * Math.PI * hz;
  let [voltsRe, voltsIm, amperesRe, amperesIm] = [1, 0, 0, 0];
  for (let k = ladder.length - 1; k >= 0; k -= 1) {
    const element = ladder[k]!;
    if (element.place === 'turns') {
      voltsRe *= element.ratio;
      voltsIm *= element.ratio;
      amperesRe /= element.ratio;
      amperesIm /= element.ratio;
      continue;
    }
    const re = element.ohms ?? 0;
    const im = omega * (element.henries ?? 0) - (element.farads === undefined ? 0 : 1 / (omega * element.farads));
    if (element.place === 'series') {
      voltsRe += re * amperesRe - im * amperesIm;
      voltsIm += re * amperesIm + im * amperesRe;
    } else {
      const square = re * re + im * im;
      amperesRe += (re * voltsRe + im * voltsIm) / square;
      amperesIm += (re * voltsIm - im * voltsRe) / square;
    }
  }
  const volts = Math.sqrt(voltsRe * voltsRe + voltsIm * voltsIm);
  return { gainRatio: 1 / volts, sourceAmperesPerVolt: Math.sqrt(amperesRe * amperesRe + amperesIm * amperesIm) / volts };
}

/** Load voltage over source voltage, dB. */
export const ladderGainDb = (ladder: Ladder, hz: number): number => ratioToDecibels(ladderResponse(ladder, hz).gainRatio);
