// Writes the published JSON Schemas from the tables they follow. Run `node tests/reference/gen-schemas.mjs` when a stage's table or a component changes.
import { writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { rolldown } from 'rolldown';

const here = (path) => fileURLToPath(new URL(path, import.meta.url));
for (const [folder, make, file] of [['setting', 'settingSchema', 'setting.schema.json'], ['circuit', 'circuitDocumentSchema', 'circuit.schema.json']]) {
  const bundle = await rolldown({ input: here(`../../dsp/${folder}/index.ts`), platform: 'node', logLevel: 'warn' });
  const { output } = await bundle.generate({ format: 'esm' });
  const door = await import(`data:text/javascript;base64,${Buffer.from(output[0].code).toString('base64')}`);
  writeFileSync(here(`../../dsp/${folder}/${file}`), `${JSON.stringify(door[make](), null, 2)}\n`);
}
