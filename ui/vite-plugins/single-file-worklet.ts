import { rolldown } from 'rolldown';
import type { Plugin } from 'vite';

const query = '?single-file-worklet';

/**
 * `import url from './processor.ts?single-file-worklet'`: the address of that module bundled, with all it imports, into one
 * classic script. Audio worklet loaders (the one of standardized-audio-context among them) accept neither top-level exports
 * nor imports that do not stand first, which is what a development server sends; one plain file works in every mode.
 * A Blob address while developing and testing, an emitted asset in a build.
 */
export function singleFileWorklet(): Plugin {
  let building = false;
  return {
    name: 'single-file-worklet',
    enforce: 'pre',
    configResolved(config) {
      building = config.command === 'build';
    },
    async resolveId(source, importer) {
      if (!source.endsWith(query)) return null;
      const resolved = await this.resolve(source.slice(0, -query.length), importer, { skipSelf: true });
      return resolved ? `\0${resolved.id}${query}` : null;
    },
    async load(id) {
      if (!id.startsWith('\0') || !id.endsWith(query)) return null;
      const bundle = await rolldown({ input: id.slice(1, -query.length), logLevel: 'warn' });
      const { output } = await bundle.generate({ format: 'iife', minify: building });
      const watched = await bundle.watchFiles;
      await bundle.close();
      for (const file of watched) this.addWatchFile(file);
      const source = output[0].code;
      if (building) {
        const reference = this.emitFile({ type: 'asset', name: 'processor.js', source });
        return `export default import.meta.ROLLUP_FILE_URL_${reference};`;
      }
      return `export default URL.createObjectURL(new Blob([${JSON.stringify(source)}], { type: 'text/javascript' }));`;
    },
  };
}
