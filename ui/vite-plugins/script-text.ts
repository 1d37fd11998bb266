import type { Plugin } from 'vite';
import { bundledQuery } from './bundled-query.ts';

/**
 * `import script from './player.ts?script-text'`: that module bundled, with all it imports, into the text of one classic script, to be put into a page that is written to a file.
 * Minified in every mode, so that whoever writes such a page writes the same bytes.
 */
export function scriptText(): Plugin {
  return bundledQuery({
    name: 'script-text', query: '?script-text',
    options: (path) => ({ minify: true, treeshake: { moduleSideEffects: (module) => module === path } }),
    moduleOf: (_context, code) => `export default ${JSON.stringify(code)};`,
  });
}
