import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vite';
import { crossOriginIsolation } from '../vite-plugins/cross-origin-isolation.ts';
import { scriptText } from '../vite-plugins/script-text.ts';
import { singleFileWorklet } from '../vite-plugins/single-file-worklet.ts';

const here = (path: string) => fileURLToPath(new URL(path, import.meta.url));

export default defineConfig({
  root: here('.'),
  base: './',
  publicDir: here('../../demo-audio'),
  plugins: [singleFileWorklet(), scriptText(), crossOriginIsolation()],
  worker: { format: 'es', plugins: () => [singleFileWorklet()] },
  build: { outDir: here('../../dist/page'), emptyOutDir: true, target: 'es2022' },
});
