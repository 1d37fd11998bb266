/** Noise at a circuit's output, and what each part contributes to it. Small signals at the operating point; not for the audio thread. */
import type { CircuitDocument } from './components.ts';
import type { Complex } from './exact-response.ts';
import { eachSensitivity } from './noise-adjoint.ts';
import { noiseSources } from './noise-sources.ts';
import type { NoiseMechanism } from './noise-sources.ts';
import type { OperatingPoint } from './operating-point.ts';
import type { CircuitSystem } from './system.ts';

export interface NoiseOptions {
  /** Where it is asked for, ascending, > 0. */
  readonly hz: readonly number[];
  /** Of resistors and channels; the document's own if absent. */
  readonly temperatureK?: number;
}

/** What one source of one component adds. */
export interface NoiseContributor {
  readonly component: string;
  readonly mechanism: NoiseMechanism;
  /** At the output, V²/Hz, one-sided, at each frequency. */
  readonly density: Float64Array;
}

export interface CircuitNoise {
  readonly hz: readonly number[];
  readonly temperatureK: number;
  /** All sources together at the output, V²/Hz, one-sided, at each frequency. */
  readonly density: Float64Array;
  readonly contributors: readonly NoiseContributor[];
  /** Small-signal transfer from the input to the output; null for a circuit without one. */
  readonly transfer: readonly Complex[] | null;
}

/** Of `document`, which `system` was assembled from, at `point`. Throws `CircuitError` where the circuit is singular at a frequency asked for. */
export function circuitNoise(document: CircuitDocument, system: CircuitSystem, point: OperatingPoint, options: NoiseOptions): CircuitNoise {
  const { hz, temperatureK = document.temperatureC + 273.15 } = options;
  const sources = noiseSources(document, system, point, temperatureK);
  const density = new Float64Array(hz.length);
  const transfer: Complex[] = [];
  const contributors = sources.map(({ component, mechanism }): NoiseContributor => ({ component, mechanism, density: new Float64Array(hz.length) }));
  eachSensitivity(system, point, hz, ({ re, im }, index) => {
    const frequencyHz = hz[index]!;
    sources.forEach(({ from, to, white, cornerHz }, k) => {
      const transRe = (to < 0 ? 0 : re[to]!) - (from < 0 ? 0 : re[from]!);
      const transIm = (to < 0 ? 0 : im[to]!) - (from < 0 ? 0 : im[from]!);
      const added = white * (1 + cornerHz / frequencyHz) * (transRe * transRe + transIm * transIm);
      contributors[k]!.density[index] = added;
      density[index] = density[index]! + added;
    });
    if (system.inputBranch >= 0) transfer.push({ re: re[system.inputBranch]!, im: im[system.inputBranch]! });
  });
  return { hz, temperatureK, density, contributors, transfer: system.inputBranch >= 0 ? transfer : null };
}
