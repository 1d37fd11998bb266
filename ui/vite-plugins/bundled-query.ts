import type { Plugin } from 'vite';
import { bundleModule, type BundleOptions } from './bundle-module.ts';

type PluginContext = ThisParameterType<Extract<NonNullable<Plugin['load']>, (...args: never[]) => unknown>>;

export interface BundledQuery {
  readonly name: string;
  /** "?script-text": asks for the module before it, bundled with all it imports into one classic script. */
  readonly query: string;
  options(path: string): BundleOptions;
  /** The module that stands for that script. */
  moduleOf(context: PluginContext, code: string): string;
}

/** Both hooks of a plugin that answers such a query. */
export function bundledQuery({ name, query, options, moduleOf }: BundledQuery): Plugin {
  return {
    name,
    enforce: 'pre',
    async resolveId(source, importer) {
      if (!source.endsWith(query)) return null;
      const resolved = await this.resolve(source.slice(0, -query.length), importer, { skipSelf: true });
      return resolved ? `\0${resolved.id}${query}` : null;
    },
    async load(id) {
      if (!id.startsWith('\0') || !id.endsWith(query)) return null;
      const path = id.slice(1, -query.length);
      const { code, watched } = await bundleModule(path, 'iife', options(path));
      for (const file of watched) this.addWatchFile(file);
      return moduleOf(this, code);
    },
  };
}
