/** Cores of the transformer stages: how a core's memory and saturation follow from its winding, its parameters, and what it adds to a tone. */
import { cos, ratioToDecibels } from '../../math/index.ts';
import type { Parameter, StageReading, StageRemark, StageValues } from '../contract.ts';
import { formatValue } from './format-value.ts';
import { dbuToPeakVolts, lineLevelDbu } from './levels.ts';
import { choice, level } from './parameters.ts';
import type { CoreLaw, TransformerDesign } from './transformer-parts.ts';
import { magnetisingHenries } from './transformer-parts.ts';
import { choiceOf, numbersOf } from './values.ts';

/** ν of a winding of 10 H, H/A: at +4 dBu and 50 Hz its inductance rises by a tenth with the signal. */
const rayleighAt10Henries = 1800;
/** Frequency at which saturation is stated. */
const saturationHz = 20;

/** ν of a winding on that core: field and flux linkage both go with the turns, inductance with their square, and so ν with their cube. */
export function rayleighOf(henries: number): number {
  const turnsSquared = henries / 10;
  return rayleighAt10Henries * turnsSquared * Math.sqrt(turnsSquared);
}

/** Flux linkage of a sine of this level at 20 Hz, Vs. */
export const saturationFlux = (dbu: number): number => dbuToPeakVolts(dbu) / (2 * Math.PI * saturationHz);

/** Null for the ideal choice. */
export function coreOf(values: StageValues, henries: number): CoreLaw | null {
  if (choiceOf(values, 'core') === 'ideal') return null;
  return { rayleighHenriesPerAmpere: rayleighOf(henries), saturationVoltSeconds: saturationFlux(numbersOf(values)('saturationDbu')) };
}

/** `range` and default of the level at which it saturates, dBu. */
export function coreParameters(saturationDbu: number, range: readonly [number, number]): readonly Parameter[] {
  return [
    choice({
      id: 'core', label: 'core', shortLabel: 'core', options: [['hysteresis', 'with hysteresis'], ['ideal', 'ideal: a linear inductance']], default: 'hysteresis',
      help: 'A real core remembers where its flux turned back and adds odd harmonics to low notes; an ideal one is lighter to compute and adds nothing.',
    }),
    level({
      id: 'saturationDbu', label: 'core saturates at 20 Hz from', shortLabel: 'saturation', range, default: saturationDbu,
      help: 'Level across the primary whose flux at 20 Hz saturates the core; an octave higher it takes 6 dB more.',
    }),
  ];
}

/** Share of the saturation flux that direct current may leave in a core at rest. */
const restShare = 0.9;

/** Why a core cannot carry this direct current (parameter `id`): it would be saturated at rest. Null: it can. */
export function refuseDirectCurrent(design: Pick<TransformerDesign, 'core' | 'primaryHenries' | 'gapHenries'>, amperes: number, id: string): string | null {
  if (design.core === null) return null;
  const flux = amperes * magnetisingHenries(design);
  const most = restShare * design.core.saturationVoltSeconds;
  if (flux <= most) return null;
  return `${id}: expected at most ${formatValue(most / magnetisingHenries(design), 'A')}, since more direct current would saturate this core at rest (less inductance of the gap, or a core that saturates later, allows it), `
    + `got ${formatValue(amperes, 'A')}`;
}

const pointsPerCycle = 256;

/**
 * Relative inductance rise η and third harmonic current over the fundamental's, for sinusoidal flux of this peak: Rayleigh's symmetrical loop, from its reversal at −λ on
 * D = L0 Δi + (ν/2) Δi² (sources in the circuit core's law). For small η the ratio is (4/15π) η.
 */
export function rayleighLoop(henries: number, rayleigh: number, peakFlux: number): { readonly eta: number; readonly thirdRatio: number; readonly fundamentalAmperes: number } {
  const root = Math.sqrt(henries * henries + 4 * rayleigh * peakFlux);
  const peakAmperes = (2 * peakFlux) / (henries + root);
  const sums = [0, 0, 0, 0];
  for (let k = 0; k < pointsPerCycle; k += 1) {
    const angle = (2 * Math.PI * k) / pointsPerCycle;
    const rising = k >= pointsPerCycle / 2;
    const flux = peakFlux * cos(angle);
    const beyond = rising ? flux + peakFlux : peakFlux - flux;
    const change = (2 * beyond) / (henries + Math.sqrt(henries * henries + 2 * rayleigh * beyond));
    const amperes = rising ? change - peakAmperes : peakAmperes - change;
    [1, 3].forEach((order, j) => {
      sums[2 * j] = sums[2 * j]! + amperes * cos(order * angle);
      sums[2 * j + 1] = sums[2 * j + 1]! + amperes * cos(order * angle - Math.PI / 2);
    });
  }
  const [first, third] = [Math.sqrt(sums[0]! * sums[0]! + sums[1]! * sums[1]!), Math.sqrt(sums[2]! * sums[2]! + sums[3]! * sums[3]!)];
  return { eta: (rayleigh * peakAmperes) / henries, thirdRatio: third / first, fundamentalAmperes: (2 * first) / pointsPerCycle };
}

const judgedHz = 50;

/** What the core adds at line level and 50 Hz: the harmonic current times the resistance it flows through, driver and primary. `levelDbu` is that of the driver's own voltage. */
export function coreReadings(design: TransformerDesign, levelDbu: number = lineLevelDbu): { readonly readings: readonly StageReading[]; readonly remarks: readonly StageRemark[] } {
  if (design.core === null) return { readings: [], remarks: [{ label: 'core', words: 'ideal: adds nothing' }] };
  const ohms = design.sourceOhms + design.primaryOhms;
  const volts = dbuToPeakVolts(levelDbu);
  const reactance = 2 * Math.PI * judgedHz * magnetisingHenries(design);
  const across = (volts * reactance) / Math.sqrt(reactance * reactance + ohms * ohms);
  const loop = rayleighLoop(design.primaryHenries, design.core.rayleighHenriesPerAmpere, across / (2 * Math.PI * judgedHz));
  return {
    readings: [
      { label: 'core: inductance rise', value: loop.eta, quantity: 'ratio', unit: '', note: `η at ${levelDbu > 0 ? '+' : ''}${levelDbu} dBu and ${judgedHz} Hz` },
      {
        label: 'core: third harmonic', value: ratioToDecibels((loop.thirdRatio * loop.fundamentalAmperes * ohms) / across), quantity: 'harmonic-amount', unit: 'dB',
        note: `at ${levelDbu > 0 ? '+' : ''}${levelDbu} dBu and ${judgedHz} Hz, by Rayleigh’s law; 12 dB less an octave up`,
      },
    ],
    remarks: [{ label: 'core', words: 'judge it at 50 Hz; at 1 kHz it adds nothing' }],
  };
}
