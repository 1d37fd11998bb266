import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';

const here = (path: string) => fileURLToPath(new URL(path, import.meta.url));

/** One file for Node, packages and all; nothing to install beside it. */
export default defineConfig({
  root: here('.'),
  publicDir: false,
  ssr: { noExternal: true },
  build: {
    ssr: here('main.ts'),
    outDir: here('../../dist/command-line'),
    emptyOutDir: true,
    target: 'node20',
    rolldownOptions: { output: { entryFileNames: 'stagebench.mjs' } },
  },
});
