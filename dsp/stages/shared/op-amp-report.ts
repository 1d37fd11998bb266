/** What both op-amp stages say about themselves at rest. */
import type { CircuitDocument, Complex } from '../../circuit/index.ts';
import { CircuitError } from '../../circuit/index.ts';
import { ratioToDecibels } from '../../math/index.ts';
import type { CircuitStageProgram, StageReading, StageRemark, StageValues } from '../contract.ts';
import { analyse } from './analysis.ts';
import type { StageDescription } from './circuit-stage.ts';
import { formatValue } from './format-value.ts';
import { dbuToPeakVolts, lineLevelDbu, peakVoltsToDbu } from './levels.ts';
import { opAmpLoop, outputSwing, slewRates, supplyAmperes, withLineFarads } from './op-amp-loop.ts';
import { connectionOf, noiseGain, signalGain } from './op-amp-parts.ts';
import { numbersOf } from './values.ts';

/** What one kind of amplifier adds to what all have in common. */
export interface OpAmpFigures {
  readonly document: CircuitDocument;
  /** Compensation and the capacitance beside it, F. */
  readonly slewingFarads: number;
  /** Difference at the pair that steers all of its current to one side, V. */
  readonly steeringVolts: number;
  /** The most the output can push and pull, A; the feedback network's share included. */
  readonly pushAmperes: number;
  readonly pullAmperes: number;
  /** Which way it runs out of current, in words: "the sink", "the current limit". */
  readonly limitName: string;
  /** What to do about it, in words. */
  readonly limitAdvice: string;
  /** Peak current up to which both ways conduct all the time, A. */
  readonly classAAmperes: number;
}

/** Line that is hung on to see what it does to the margin: 300 m at 100 pF/m. */
const lineFarads = 30e-9;
/** The most that a line is asked to carry. */
const demandedDbu = 24;
const demandedHz = 20_000;
const loopFrequencies = [1000, 10_000, 20_000];
/** Slew rates within this share are given as one. */
const evenShare = 0.03;
/** Swings that differ by more are said to clip unevenly. */
const unevenShare = 0.02;
/** With less phase margin than this a loop is refused: what is left rings for tens of cycles, and hard driving makes it sustain itself. */
const leastMarginDegrees = 10;
/** Loop gain at 1 kHz without which there is no feedback to speak of. */
const leastLoopGain = 2;

const size = ({ re, im }: Complex): number => Math.sqrt(re * re + im * im);
const perMicrosecond = (voltsPerSecond: number): number => voltsPerSecond / 1e6;

/** Why a loop cannot be used: it would oscillate, or no operating point is found. */
export function refuseOscillation(values: StageValues, document: CircuitDocument): string | null {
  try {
    const { crossing } = opAmpLoop(document, noiseGain(values));
    if (crossing === null || crossing.marginDegrees >= leastMarginDegrees) return null;
    return `compensationFarads: expected a phase margin of at least ${leastMarginDegrees}°, got ${round(crossing.marginDegrees, 2)}° at ${formatValue(crossing.hz, 'Hz')}: the loop would oscillate; `
      + 'raise the compensation, the degeneration or the build-out, or take capacitance off the load';
  } catch (error) {
    if (error instanceof CircuitError) return `no operating point is found with these values together (${error.message})`;
    throw error;
  }
}

/** Current that load and feedback network take at a peak voltage at the load, A. */
function demandedAmperes(values: StageValues, peakVolts: number, hz: number): number {
  const v = numbersOf(values);
  const resistive = peakVolts / v('loadOhms') + peakVolts / (v('feedbackOhms') + v('gainOhms'));
  const reactive = 2 * Math.PI * hz * v('loadFarads') * peakVolts;
  return Math.sqrt(resistive * resistive + reactive * reactive);
}

/** Peak at the load at which the current reaches a limit, V. */
const peakVoltsAt = (values: StageValues, amperes: number, hz: number): number => amperes / demandedAmperes(values, 1, hz);

export function describeOpAmp(values: StageValues, program: CircuitStageProgram, figures: OpAmpFigures): StageDescription {
  const { document } = figures;
  const v = numbersOf(values);
  const analysis = analyse(document);
  const loop = opAmpLoop(document, noiseGain(values));
  const inverts = connectionOf(values) === 'inverting';
  const swing = outputSwing(document, overdriveVolts(values));
  const gain: StageReading = {
    label: 'gain, small signal', value: analysis.gainDb(1000) + ratioToDecibels(program.inputGain * program.outputGain), quantity: 'gain', unit: 'dB',
    note: 'at 1 kHz, drive and make-up included',
  };
  const impedances: readonly StageReading[] = [
    { label: 'input impedance', value: analysis.inputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz' },
    { label: 'output impedance', value: analysis.outputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz, standing load included' },
  ];
  const quiescent: StageReading = { label: 'quiescent current', value: supplyAmperes(document), quantity: 'current', unit: 'A', note: 'from the upper supply at rest' };
  if (loop.crossing === null || size(loop.gain(1000)) < leastLoopGain) {
    const words = `none to speak of: the output rests at ${formatValue(analysis.volts('out'), 'V')}, where the amplifier has no gain`;
    return { readings: [quiescent, gain, ...impedances], remarks: [{ label: 'loop gain', words }] };
  }
  const overPair = inverts ? noiseGain(values) / (noiseGain(values) - 1) : 1;
  const slew = slewRates(document, figures.steeringVolts * overPair, figures.slewingFarads, inverts);
  const readings: readonly StageReading[] = [
    quiescent,
    gain,
    { label: 'gain-bandwidth', value: loop.gainBandwidthHz, quantity: 'frequency', unit: 'Hz', note: `of the amplifier; at a noise gain of ${round(noiseGain(values), 3)} the loop closes at ${formatValue(loop.crossing.hz, 'Hz')}` },
    ...slewReadings(slew),
    ...powerBandwidth(slew, swing, v('buildOutOhms') / v('loadOhms')),
    ...loopFrequencies.map((hz): StageReading => ({
      label: `loop gain at ${hz / 1000} kHz`, value: ratioToDecibels(size(loop.gain(hz))), quantity: 'gain', unit: 'dB', note: 'what distortion of the output is divided by',
    })),
    { label: 'phase margin', value: loop.crossing.marginDegrees, quantity: 'ratio', unit: '°', note: `with its load; ${marginWithLine(values, document)}` },
    ...currentReadings(values, figures, swing),
    ...headroomReadings(swing),
    ...impedances,
  ];
  return { readings, remarks: remarks(values, figures, swing) };
}

/** Input that takes the output well past either rail, itself hardly beyond one. */
function overdriveVolts(values: StageValues): number {
  return numbersOf(values)('railVolts') * Math.min(1.05, 1.5 / Math.abs(signalGain(values)));
}

function slewReadings({ rising, falling }: { readonly rising: number; readonly falling: number }): readonly StageReading[] {
  const reading = (label: string, value: number): StageReading => ({ label, value: perMicrosecond(value), quantity: 'ratio', unit: 'V/µs', note: 'what the pair can charge the compensation with' });
  if (Math.abs(rising - falling) <= evenShare * Math.max(rising, falling)) return [reading('slew rate', Math.min(rising, falling))];
  return [reading('slew rate, rising', rising), reading('slew rate, falling', falling)];
}

/** SR/(2π Vp) at the amplifier's own output (Gray, Hurst, Lewis, Meyer, chapter 9, from memory). */
function powerBandwidth(slew: { readonly rising: number; readonly falling: number }, swing: { readonly up: number; readonly down: number }, buildOutShare: number): readonly StageReading[] {
  const peak = Math.max(swing.up, swing.down) * (1 + buildOutShare);
  if (!(peak > 0)) return [];
  const value = Math.min(slew.rising, slew.falling) / (2 * Math.PI * peak);
  return [{ label: 'full-power bandwidth', value, quantity: 'frequency', unit: 'Hz', note: `for a sine of ${round(peak, 3)} V peak at the amplifier` }];
}

function marginWithLine(values: StageValues, document: CircuitDocument): string {
  const line = opAmpLoop(withLineFarads(document, lineFarads), noiseGain(values)).crossing;
  if (line === null) return 'with 300 m of line (30 nF) there is no crossing';
  return line.marginDegrees > 0 ? `${round(line.marginDegrees, 2)}° with 300 m of line (30 nF) more` : 'with 300 m of line (30 nF) more it would oscillate';
}

function currentReadings(values: StageValues, figures: OpAmpFigures, swing: { readonly up: number; readonly down: number }): readonly StageReading[] {
  const peak = dbuToPeakVolts(demandedDbu);
  const demanded = demandedAmperes(values, peak, demandedHz);
  const available = Math.min(figures.pushAmperes, figures.pullAmperes);
  // Volt-amperes of sines: half the product of the peaks.
  const asked = (peak * demanded) / 2;
  const given = (Math.min(peak, swing.up, swing.down) * Math.min(demanded, available)) / 2;
  const classA = peakVoltsToDbu(peakVoltsAt(values, figures.classAAmperes, 0));
  return [
    {
      label: 'current demanded', value: demanded, quantity: 'current', unit: 'A',
      note: `peak at +${demandedDbu} dBu and 20 kHz, of ${formatValue(available, 'A')} that ${figures.limitName} allows: ${round(asked, 3)} VA asked, ${round(given, 3)} VA to be had`,
    },
    {
      label: 'class-A limit', value: classA, quantity: 'level', unit: 'dBu',
      note: `peak load current equals ${formatValue(figures.classAAmperes, 'A')} at low frequencies; at 20 kHz at ${round(peakVoltsToDbu(peakVoltsAt(values, figures.classAAmperes, demandedHz)), 3)} dBu`,
    },
  ];
}

function headroomReadings({ up, down }: { readonly up: number; readonly down: number }): readonly StageReading[] {
  const reading = (label: string, volts: number): readonly StageReading[] => (volts > 0
    ? [{ label, value: ratioToDecibels(volts / dbuToPeakVolts(lineLevelDbu)), quantity: 'gain', unit: 'dB', note: `above +4 dBu at the load, before make-up: ${round(volts, 3)} V, ${round(peakVoltsToDbu(volts), 3)} dBu` }] : []);
  return [...reading('headroom upwards', up), ...reading('headroom downwards', down)];
}

function remarks(values: StageValues, figures: OpAmpFigures, { up, down }: { readonly up: number; readonly down: number }): readonly StageRemark[] {
  const atPeak = demandedAmperes(values, Math.min(up, down), 0);
  const words = peakVoltsAt(values, Math.min(figures.pushAmperes, figures.pullAmperes), 0) <= Math.min(up, down) * 1.02
    ? `${figures.limitName} comes first: ${figures.limitAdvice}`
    : `the rails come first: ${formatValue(atPeak, 'A')} at the peak, of ${formatValue(Math.min(figures.pushAmperes, figures.pullAmperes), 'A')}`;
  const uneven = Math.abs(up - down) / Math.max(up, down, 1e-9);
  return [
    { label: 'limit', words },
    ...(uneven > unevenShare ? [{ label: 'clipping', words: up < down ? 'uneven: upwards first' : 'uneven: downwards first' }] : []),
  ];
}

const round = (value: number, digits: number): string => String(Number(value.toPrecision(digits)));
