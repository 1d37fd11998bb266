// Writes renders.json: hashes of reference renders, made in Node. Run `node tests/reference/gen-renders.mjs` whenever bits change on purpose
// (and raise `numericsVersion`, once settings have been published).
import { writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { rolldown } from 'rolldown';

const here = (path) => fileURLToPath(new URL(path, import.meta.url));
const bundle = await rolldown({ input: here('../path/reference-renders.ts'), platform: 'node' });
const { output } = await bundle.generate({ format: 'esm' });
const { makeReferenceRenders } = await import(`data:text/javascript;base64,${Buffer.from(output[0].code).toString('base64')}`);
const renders = { note: 'made by gen-renders.mjs', renders: makeReferenceRenders() };
writeFileSync(here('renders.json'), `${JSON.stringify(renders, null, 2)}\n`);
