import { rolldown } from 'rolldown';
import type { Plugin } from 'vite';

const query = '?script-text';

/**
 * `import script from './player.ts?script-text'`: that module bundled, with all it imports, into the text of one classic script, to be put into a page that is written to a file.
 * Minified in every mode, so that whoever writes such a page writes the same bytes.
 */
export function scriptText(): Plugin {
  return {
    name: 'script-text',
    enforce: 'pre',
    async resolveId(source, importer) {
      if (!source.endsWith(query)) return null;
      const resolved = await this.resolve(source.slice(0, -query.length), importer, { skipSelf: true });
      return resolved ? `\0${resolved.id}${query}` : null;
    },
    async load(id) {
      if (!id.startsWith('\0') || !id.endsWith(query)) return null;
      const bundle = await rolldown({ input: id.slice(1, -query.length), logLevel: 'warn', treeshake: { moduleSideEffects: (module) => module === id.slice(1, -query.length) } });
      const { output } = await bundle.generate({ format: 'iife', minify: true });
      const watched = await bundle.watchFiles;
      await bundle.close();
      for (const file of watched) this.addWatchFile(file);
      return `export default ${JSON.stringify(output[0].code)};`;
    },
  };
}
