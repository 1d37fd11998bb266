import type { Plugin } from 'vite';
import { bundledQuery } from './bundled-query.ts';

/**
 * `import url from './processor.ts?single-file-worklet'`: the address of that module bundled, with all it imports, into one
 * classic script. Audio worklet loaders (the one of standardized-audio-context among them) accept neither top-level exports
 * nor imports that do not stand first, which is what a development server sends; one plain file works in every mode.
 * A Blob address while developing and testing, an emitted asset in a build.
 */
export function singleFileWorklet(): Plugin {
  let building = false;
  const plugin = bundledQuery({
    name: 'single-file-worklet', query: '?single-file-worklet',
    options: () => ({ minify: building }),
    moduleOf: (context, source) => {
      if (building) return `export default import.meta.ROLLUP_FILE_URL_${context.emitFile({ type: 'asset', name: 'processor.js', source })};`;
      return `export default URL.createObjectURL(new Blob([${JSON.stringify(source)}], { type: 'text/javascript' }));`;
    },
  });
  return { ...plugin, configResolved(config) { building = config.command === 'build'; } };
}
