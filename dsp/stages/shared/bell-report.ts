/** What the bell circuits say about themselves: the bell they make beside the one they were drawn for, and where they run out. */
import type { CircuitDocument, Complex } from '../../circuit/index.ts';
import { ratioToDecibels } from '../../math/index.ts';
import type { CircuitStageProgram, OutputNetwork, StageCurve, StageReading, StageRemark, StageValues } from '../contract.ts';
import { amplifierHeadroom, describeHeadroom, lineLevelInputVolts } from './amplifier-headroom.ts';
import type { AmplifierPlace } from './amplifier-headroom.ts';
import { analyse } from './analysis.ts';
import { bellCaption, bellIn, bellMarks, bellReadings, idealBell } from './bell.ts';
import type { ResonantLeg } from './bell.ts';
import type { StageDescription } from './circuit-stage.ts';
import { added, complex, divided } from './complex.ts';
import { curveDifference, differenceCurve, differenceReading } from './curve-difference.ts';
import { nodeResponses } from './node-responses.ts';
import { opAmpLimits, slewRemark } from './op-amp-block.ts';
import { idealPotResponse, opAmpOutputNetwork, outputDivision, potHalves, potNoiseGain } from './pot-equaliser.ts';
import { numbersOf } from './values.ts';

export interface BellStage {
  circuit(values: StageValues, source: OutputNetwork | null): CircuitDocument;
  /** What its leg is meant to be. */
  leg(values: StageValues): ResonantLeg;
  readonly places: readonly AmplifierPlace[];
  /** Completes "ideal: …". */
  readonly idealIs: string;
  /** Readings of its own, after the bell's. */
  own(values: StageValues): readonly StageReading[];
}

const halves = (values: StageValues): readonly [number, number] => potHalves(numbersOf(values)('potOhms'), numbersOf(values)('potPosition'));

/** Impedance of the leg at a frequency. */
export function legImpedance({ ohms, henries, farads }: ResonantLeg, hz: number): Complex {
  const omega = 2 * Math.PI * hz;
  return added(complex(ohms, omega * henries), divided(complex(1), complex(0, omega * farads)));
}

function idealResponse(stage: BellStage, values: StageValues): (hz: number) => Complex {
  const [toPlusOhms, toMinusOhms] = halves(values);
  const leg = stage.leg(values);
  const division = outputDivision(values);
  return (hz) => {
    const { re, im } = idealPotResponse(numbersOf(values)('armOhms'), [{ toPlusOhms, toMinusOhms, impedance: (at) => legImpedance(leg, at) }], hz);
    return { re: re * division, im: im * division };
  };
}

function compared(stage: BellStage, values: StageValues) {
  const responses = nodeResponses(stage.circuit(values, null));
  const ideal = idealBell(stage.leg(values), numbersOf(values)('armOhms'), halves(values));
  // What the load takes of the output is the same at every frequency and no part of the bell.
  const division = outputDivision(values);
  const found = bellIn((hertz) => responses.output(hertz).map(({ re, im }) => ({ re: re / division, im: im / division })), ideal);
  const centre = found?.centreHz ?? ideal.centreHz;
  const difference = curveDifference(responses.output, idealResponse(stage, values), [centre, ideal.centreHz]);
  return { responses, ideal, found, centre, difference };
}

export function describeBell(stage: BellStage, values: StageValues, program: CircuitStageProgram): StageDescription {
  const { responses, ideal, found, centre, difference } = compared(stage, values);
  const headroom = describeHeadroom(amplifierHeadroom(responses, stage.places, opAmpLimits(values), lineLevelInputVolts(program.inputGain), [centre]));
  const analysis = analyse(stage.circuit(values, null));
  const readings: readonly StageReading[] = [
    ...bellReadings(ideal, found),
    ...stage.own(values),
    differenceReading(difference, stage.idealIs),
    ...headroom.readings,
    {
      label: 'gain, small signal', value: analysis.gainDb(1000) + ratioToDecibels(program.inputGain * program.outputGain), quantity: 'gain', unit: 'dB',
      note: 'at 1 kHz, drive and make-up included',
    },
    { label: 'input impedance', value: analysis.inputOhms(ideal.centreHz), quantity: 'resistance', unit: 'Ω', note: 'at the centre, where the leg draws most' },
    { label: 'output impedance', value: analysis.outputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz, standing load included' },
  ];
  const flat: readonly StageRemark[] = found === null ? [{ label: 'bell', words: 'flat, or too broad to have a centre of its own' }] : [];
  return { readings, remarks: [...flat, ...headroom.remarks, slewRemark(opAmpLimits(values))] };
}

export function bellCurve(stage: BellStage, values: StageValues): StageCurve {
  const { found, difference } = compared(stage, values);
  return differenceCurve(difference, bellMarks(found), bellCaption(found, difference.largest));
}

export const bellOutputNetwork = (values: StageValues): OutputNetwork =>
  opAmpOutputNetwork(values, potNoiseGain(numbersOf(values)('armOhms'), numbersOf(values)('potOhms')));
