import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';
import { scriptText } from '../vite-plugins/script-text.ts';

const here = (path: string) => fileURLToPath(new URL(path, import.meta.url));

/** For Node, packages and all: the command line, the threads it renders folders and measures figures with, and what they need; nothing to install beside it. */
export default defineConfig({
  root: here('.'),
  publicDir: false,
  plugins: [scriptText()],
  ssr: { noExternal: true },
  build: {
    ssr: true,
    outDir: here('../../dist/command-line'),
    emptyOutDir: true,
    target: 'node20',
    rolldownOptions: {
      input: { stagebench: here('main.ts'), 'render-worker': here('render-worker.ts'), 'figure-worker': here('figure-worker.ts') },
      output: { entryFileNames: '[name].mjs', chunkFileNames: 'shared-[hash].mjs' },
    },
  },
});
