// Writes converged.json: harmonics of the circuits in tests/support/documents.ts at 256 and 512 times 48 kHz, extrapolated. Run `node tests/reference/gen-converged.mjs`
// whenever one of those circuits changes; it takes about a minute.
import { rmSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { rolldown } from 'rolldown';

const here = (path) => fileURLToPath(new URL(path, import.meta.url));
const bundle = await rolldown({ input: here('../support/converged.ts'), platform: 'node' });
const { output } = await bundle.generate({ format: 'esm' });
// The bundle reads the documents by a path relative to its own, so it has to lie in a folder of tests/.
const built = here('converged-build.mjs');
try {
  writeFileSync(built, output[0].code);
  const { makeConverged } = await import(built);
  const digits = (key, value) => (typeof value === 'number' && key !== 'peakVolts' ? Number(value.toPrecision(key === 'db' || key === 'phaseDegrees' ? 9 : 3)) : value);
  const { figures, ...head } = makeConverged();
  const lines = figures.map((figure) => {
    const { harmonics, ...rest } = figure;
    const rows = harmonics.map((harmonic) => `      ${JSON.stringify(harmonic, digits)}`);
    return `    ${JSON.stringify(rest).slice(0, -1)}, "harmonics": [\n${rows.join(',\n')}\n    ]}`;
  });
  writeFileSync(here('converged.json'), `${JSON.stringify(head).slice(0, -1)}, "figures": [\n${lines.join(',\n')}\n]}\n`);
} finally {
  rmSync(built, { force: true });
}
