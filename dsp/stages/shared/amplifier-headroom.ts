/** Headroom at every amplifier of a stage: the level at each output with line level in, where in the band it is worst, and which runs out first. */
import { ratioToDecibels } from '../../math/index.ts';
import type { StageReading, StageRemark } from '../contract.ts';
import { magnitude } from './complex.ts';
import { formatValue } from './format-value.ts';
import { dbuToPeakVolts, lineLevelDbu, peakVoltsToDbu } from './levels.ts';
import { logarithmicHertz } from './node-responses.ts';
import type { NodeResponses } from './node-responses.ts';
import { opAmpDriveNode, opAmpOutputOhms, opAmpSwingVolts } from './op-amp-block.ts';
import type { OpAmpLimits } from './op-amp-block.ts';

export interface AmplifierPlace {
  /** Designator of the block: "U2". */
  readonly name: string;
  /** What it does there: "inductor". */
  readonly role: string;
  readonly outNode: string;
}

/** The band in which a worst frequency is looked for, and how finely: 30 a decade, 0.1 dB beside the peak of a Q of 4. */
const bandHertz = logarithmicHertz(20, 20e3, 91);

export interface AmplifierHeadroom {
  readonly place: AmplifierPlace;
  /** Frequency at which least is left. */
  readonly hz: number;
  /** Level there, dBu. */
  readonly levelDbu: number;
  /** Left above it until rails or current limit, whichever is first, dB. */
  readonly headroomDb: number;
  readonly limit: 'rails' | 'current limit';
}

/** One for each place. `inputPeakVolts`: of the sine that stands for line level at the circuit's input. `extraHertz`: frequencies to look at besides the band's own, a resonance among them. */
export function amplifierHeadroom(
  responses: NodeResponses, places: readonly AmplifierPlace[], limits: OpAmpLimits, inputPeakVolts: number, extraHertz: readonly number[] = [],
): readonly AmplifierHeadroom[] {
  const hertz = [...bandHertz, ...extraHertz];
  return places.map((place) => {
    const volts = responses.between(hertz, place.outNode).map(magnitude);
    const amperes = responses.between(hertz, opAmpDriveNode(place.name), place.outNode).map((across) => magnitude(across) / opAmpOutputOhms);
    let worst: AmplifierHeadroom | null = null;
    hertz.forEach((hz, k) => {
      const swing = opAmpSwingVolts(limits) / (volts[k]! * inputPeakVolts);
      const current = limits.outputLimitAmperes / (amperes[k]! * inputPeakVolts);
      const headroomDb = ratioToDecibels(Math.min(swing, current));
      if (worst !== null && headroomDb >= worst.headroomDb) return;
      worst = { place, hz, levelDbu: peakVoltsToDbu(volts[k]! * inputPeakVolts), headroomDb, limit: swing <= current ? 'rails' : 'current limit' };
    });
    return worst!;
  });
}

/** As readings, and in words which one runs out first. */
export function describeHeadroom(found: readonly AmplifierHeadroom[]): { readonly readings: readonly StageReading[]; readonly remarks: readonly StageRemark[] } {
  const first = found.reduce((least, each) => (each.headroomDb < least.headroomDb ? each : least));
  const at = (hz: number): string => formatValue(Number(hz.toPrecision(2)), 'Hz');
  return {
    readings: found.map(({ place, hz, levelDbu, headroomDb, limit }) => ({
      label: `headroom of ${place.name}`, value: headroomDb, quantity: 'gain', unit: 'dB',
      note: `${place.role}: ${formatValue(Number(levelDbu.toFixed(1)), 'dBu')} at ${at(hz)} with ${lineLevelDbu} dBu in, the worst of 20 Hz to 20 kHz; the ${limit} ${limit === 'rails' ? 'come' : 'comes'} first`,
    })),
    remarks: [{
      label: 'runs out first',
      words: `${first.place.name}, the ${first.place.role}, at ${at(first.hz)}${first.headroomDb < 0 ? ': already below line level' : ''}`,
    }],
  };
}

/** Peak volts at the circuit's input for line level at the stage's. */
export const lineLevelInputVolts = (inputGain: number): number => dbuToPeakVolts(lineLevelDbu) * inputGain;
