/** What the shelf circuit says about itself: each shelf beside the one it was drawn for, and where it runs out. */
import type { Complex } from '../../circuit/index.ts';
import { ratioToDecibels } from '../../math/index.ts';
import type { CircuitStageProgram, OutputNetwork, StageCurve, StageReading, StageValues } from '../contract.ts';
import { amplifierHeadroom, describeHeadroom, lineLevelInputVolts } from '../shared/amplifier-headroom.ts';
import type { AmplifierPlace } from '../shared/amplifier-headroom.ts';
import { analyse } from '../shared/analysis.ts';
import type { StageDescription } from '../shared/circuit-stage.ts';
import { added, complex, magnitude, scaled } from '../shared/complex.ts';
import { curveDifference, differenceCurve, differenceReading } from '../shared/curve-difference.ts';
import { formatValue } from '../shared/format-value.ts';
import { nodeResponses } from '../shared/node-responses.ts';
import type { NodeResponses } from '../shared/node-responses.ts';
import { opAmpLimits, slewRemark } from '../shared/op-amp-block.ts';
import { idealPotResponse, opAmpOutputNetwork, outputDivision, potHalves, potNoiseGain } from '../shared/pot-equaliser.ts';
import type { PotLeg } from '../shared/pot-equaliser.ts';
import { numbersOf } from '../shared/values.ts';
import { circuit } from './circuit.ts';

const places: readonly AmplifierPlace[] = [
  { name: 'U1', role: 'main amplifier', outNode: 'amplifier' }, { name: 'U2', role: 'amplifier that stands for an inductor', outNode: 'gyrator' },
];

type Which = 'low' | 'high';

/** Pot, leg resistance and storage of each shelf. */
function shelf(values: StageValues, which: Which) {
  const v = numbersOf(values);
  const [toPlusOhms, toMinusOhms] = which === 'low' ? potHalves(v('lowPotOhms'), v('lowPosition')) : potHalves(v('highPotOhms'), v('highPosition'));
  const ohms = which === 'low' ? v('legOhms') : v('highOhms');
  return { toPlusOhms, toMinusOhms, ohms, position: which === 'low' ? 'lowPosition' : 'highPosition' };
}

/** H, and RQ · RG · CG. */
export const simulatedHenries = (values: StageValues): number => numbersOf(values)('legOhms') * numbersOf(values)('gyratorOhms') * numbersOf(values)('gyratorFarads');

function reactance(values: StageValues, which: Which, hz: number): Complex {
  const omega = 2 * Math.PI * hz;
  return which === 'low' ? complex(0, omega * simulatedHenries(values)) : complex(0, -1 / (omega * numbersOf(values)('highFarads')));
}

function leg(values: StageValues, which: Which): PotLeg {
  const { toPlusOhms, toMinusOhms, ohms } = shelf(values, which);
  return { toPlusOhms, toMinusOhms, impedance: (hz) => added(complex(ohms), reactance(values, which, hz)) };
}

function idealResponse(values: StageValues): (hz: number) => Complex {
  const legs = [leg(values, 'low'), leg(values, 'high')];
  return (hz) => scaled(idealPotResponse(numbersOf(values)('armOhms'), legs, hz), outputDivision(values));
}

export interface Shelf {
  /** Far on its side of the turnover. */
  readonly amountDb: number;
  /** Where half of the amount is reached, in dB. */
  readonly turnoverHz: number;
}

/** One shelf alone, first order: a = r' + R x over b = r' + R (1 − x) at its far end; half of it in dB where the reactance is √(a b). */
export function idealShelf(values: StageValues, which: Which): Shelf {
  const { toPlusOhms, toMinusOhms, ohms } = shelf(values, which);
  const sum = toPlusOhms + toMinusOhms;
  const within = ohms + (toPlusOhms * toMinusOhms) / sum;
  const arm = numbersOf(values)('armOhms');
  const [a, b] = [within + (arm * toPlusOhms) / sum, within + (arm * toMinusOhms) / sum];
  const middle = Math.sqrt(a * b);
  return {
    amountDb: ratioToDecibels(a / b),
    turnoverHz: which === 'low' ? middle / (2 * Math.PI * simulatedHenries(values)) : 1 / (2 * Math.PI * middle * numbersOf(values)('highFarads')),
  };
}

/** Below this amount a shelf has no turnover worth telling, dB. */
const flatDb = 0.1;
/** How far beyond the expected turnover its far end is read. */
const farRatio = 12;

/** The shelf that the circuit makes with the other pot in the middle: amount at 12 times (a twelfth of) the turnover, turnover by bisection to 1e-6. Null: flat, or not found. */
export function shelfIn(values: StageValues, which: Which): (Shelf & { readonly slopeDb: number }) | null {
  const expected = idealShelf(values, which);
  if (Math.abs(expected.amountDb) < flatDb) return null;
  const responses = nodeResponses(circuit({ ...values, [shelf(values, which === 'low' ? 'high' : 'low').position]: 0.5 }, null));
  const base = outputDivision(values);
  const db = (hz: number): number => ratioToDecibels(magnitude(responses.output([hz])[0]!) / base);
  const outward = which === 'low' ? 1 / farRatio : farRatio;
  const amountDb = db(expected.turnoverHz * outward);
  // Between a factor of 12 out and one of 8 in: within that an amplifier of little bandwidth has not yet bent the curve again.
  let [far, near] = [expected.turnoverHz * outward, expected.turnoverHz / (which === 'low' ? 1 / 8 : 8)];
  const beyond = (hz: number): boolean => db(hz) / amountDb > 0.5;
  if (!beyond(far) || beyond(near)) return null;
  for (let k = 0; k < 30; k += 1) {
    const middle = Math.sqrt(far * near);
    if (beyond(middle)) far = middle;
    else near = middle;
  }
  const turnoverHz = Math.sqrt(far * near);
  return { amountDb, turnoverHz, slopeDb: Math.abs(db(turnoverHz * Math.SQRT2) - db(turnoverHz * Math.SQRT1_2)) };
}

function shelfReadings(values: StageValues, which: Which): readonly StageReading[] {
  const found = shelfIn(values, which);
  if (found === null) return [];
  const ideal = idealShelf(values, which);
  return [
    { label: `${which} shelf, amount`, value: found.amountDb, quantity: 'gain', unit: 'dB', note: `alone, far beyond its turnover; ideal ${formatValue(Number(ideal.amountDb.toFixed(2)), 'dB')}` },
    {
      label: `${which} shelf, turnover`, value: found.turnoverHz, quantity: 'frequency', unit: 'Hz',
      note: `half of its amount in dB; ideal ${formatValue(ideal.turnoverHz, 'Hz')}; ${Number(found.slopeDb.toFixed(1))} dB over the octave there, the steepest`,
    },
  ];
}

function compared(values: StageValues) {
  const responses: NodeResponses = nodeResponses(circuit(values, null));
  return { responses, difference: curveDifference(responses.output, idealResponse(values)) };
}

export function describe(values: StageValues, program: CircuitStageProgram): StageDescription {
  const { responses, difference } = compared(values);
  const headroom = describeHeadroom(amplifierHeadroom(responses, places, opAmpLimits(values), lineLevelInputVolts(program.inputGain)));
  const analysis = analyse(circuit(values, null));
  const readings: readonly StageReading[] = [
    ...shelfReadings(values, 'low'),
    ...shelfReadings(values, 'high'),
    { label: 'inductance stood for', value: simulatedHenries(values), quantity: 'inductance', unit: 'H', note: 'RQ · RG · CG' },
    differenceReading(difference, 'perfect amplifiers and a true inductor'),
    ...headroom.readings,
    {
      label: 'gain, small signal', value: analysis.gainDb(1000) + ratioToDecibels(program.inputGain * program.outputGain), quantity: 'gain', unit: 'dB',
      note: 'at 1 kHz, drive and make-up included',
    },
    { label: 'input impedance', value: analysis.inputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz' },
    { label: 'output impedance', value: analysis.outputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz, standing load included' },
  ];
  return { readings, remarks: [...headroom.remarks, slewRemark(opAmpLimits(values))] };
}

export function curve(values: StageValues): StageCurve {
  const { difference } = compared(values);
  const marks = (['low', 'high'] as const).flatMap((which) => {
    const found = shelfIn(values, which);
    return found === null ? [] : [{
      kind: 'turnover' as const, fromHz: found.turnoverHz, toHz: found.turnoverHz, db: found.amountDb / 2, words: `${which} ${Number(found.amountDb.toFixed(1))} dB, ${formatValue(Number(found.turnoverHz.toPrecision(3)), 'Hz')}`,
    }];
  });
  const words = marks.length === 0 ? 'Flat' : marks.map((mark) => mark.words).join('; ');
  return differenceCurve(difference, marks, `${words}; largest difference to the ideal curve ${Number(difference.largest.db.toFixed(2))} dB at ${formatValue(Number(difference.largest.hz.toPrecision(2)), 'Hz')}.`);
}

/** Both pots stand between the inputs. */
export function outputNetwork(values: StageValues): OutputNetwork {
  const v = numbersOf(values);
  return opAmpOutputNetwork(values, potNoiseGain(v('armOhms'), 1 / (1 / v('lowPotOhms') + 1 / v('highPotOhms'))));
}
