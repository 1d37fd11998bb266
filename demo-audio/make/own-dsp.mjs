// The bench's own WAV and loudness code for plain Node: bundled on the fly into dist/.
import { mkdirSync } from 'node:fs';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { build } from 'rolldown';

const root = fileURLToPath(new URL('../..', import.meta.url));

async function load(folder) {
  const file = `${root}dist/demo-audio/${folder}.mjs`;
  mkdirSync(`${root}dist/demo-audio`, { recursive: true });
  await build({ input: `${root}dsp/${folder}/index.ts`, output: { file, format: 'esm' }, logLevel: 'warn' });
  return import(pathToFileURL(file).href);
}

export const recording = await load('recording');
export const listening = await load('listening');
