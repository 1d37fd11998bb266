/** Renders whose bits must be the same wherever they are made. Signals and path from our own arithmetic alone. */
import { SeededRandom, sha256, sin } from '../../dsp/math/index.ts';
import { planPath, type PathSetting } from '../../dsp/path/index.ts';
import { openingSetting } from '../../dsp/setting/index.ts';
import { pathOf, rateHz, renderAll } from './support.ts';

export interface ReferenceRender {
  readonly name: string;
  readonly rateHz: number;
  readonly sha256: string;
}

const frames = 4800;

/** A falling tone, then noise up to full scale. */
function signal(): Float64Array {
  const random = new SeededRandom(20261125);
  return Float64Array.from({ length: frames }, (_, i) => (i < frames / 2
    ? 0.3 * sin(2 * Math.PI * (1000 - 0.1 * i) * (i / rateHz))
    : 2 * (i / frames) * (random.nextUnit() - 0.5)));
}

const paths: readonly { readonly name: string; readonly path: PathSetting }[] = [
  { name: 'opening setting', path: openingSetting().path },
  { name: 'field-effect and valve, reversed, minimum latency, factor 4', path: pathOf(['single-ended-field-effect', { stage: 'single-ended-valve', reversed: true }], { ladder: 'minimum-latency', oversamplingFactor: 4 }) },
  { name: 'held law, factor 1', path: pathOf([{ stage: 'harmonic-shaping', values: { law: 'held' } }], { oversamplingFactor: 1, fullScaleDbu: 18 }) },
];

/** SHA-256 of the output as float64, little-endian. */
export function makeReferenceRenders(): ReferenceRender[] {
  const input = signal();
  return paths.map(({ name, path }) => {
    const [output] = renderAll(planPath(path, rateHz), [input]);
    const bytes = new DataView(new ArrayBuffer(8 * frames));
    output!.forEach((sample, i) => bytes.setFloat64(8 * i, sample, true));
    return { name, rateHz, sha256: sha256(new Uint8Array(bytes.buffer)) };
  });
}
