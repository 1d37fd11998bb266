import type { Plugin } from 'vite';
import { bundleModule } from './bundle-module.ts';

/** What the development server asks for where a page makes a worker of a module. */
const workerQuery = /[?&]worker_file\b/;

/**
 * Workers as one file each while testing: a page makes nine of them, of some hundred modules each, and a test file makes a page or more. Asked for one by one, those modules take more time
 * than what is tested.
 */
export function singleFileWorkers(): Plugin {
  const bundled = new Map<string, Promise<string>>();
  return {
    name: 'single-file-workers',
    enforce: 'pre',
    load(id) {
      if (!workerQuery.test(id)) return null;
      const path = id.slice(0, id.indexOf('?'));
      const known = bundled.get(path) ?? bundleModule(path, 'es', { minify: false }).then(({ code }) => code);
      bundled.set(path, known);
      return known;
    },
  };
}
