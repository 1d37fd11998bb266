#!/usr/bin/env node
// Starts the command line in a checkout: builds it when its sources are newer than the build, then hands over.
import { existsSync, readdirSync, statSync } from 'node:fs';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { build } from 'vite';

const here = (path) => fileURLToPath(new URL(path, import.meta.url));
const program = here('../../dist/command-line/stagebench.mjs');

/** Newest change, in milliseconds, of any source file below the folder. */
function newestChange(folder) {
  return readdirSync(folder, { withFileTypes: true, recursive: true })
    .filter((entry) => entry.isFile())
    .reduce((newest, entry) => Math.max(newest, statSync(`${entry.parentPath}/${entry.name}`).mtimeMs), 0);
}

const newestSource = Math.max(...['.', '../plot', '../drawing', '../documents', '../vite-plugins', '../../dsp'].map((folder) => newestChange(here(folder))));
if (!existsSync(program) || statSync(program).mtimeMs < newestSource) {
  await build({ configFile: here('vite.config.ts'), logLevel: 'error' });
}
const { main } = await import(pathToFileURL(program).href);
process.exitCode = await main(process.argv.slice(2));
