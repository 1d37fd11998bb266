import { rolldown, type InputOptions } from 'rolldown';

export interface BundleOptions {
  readonly minify: boolean;
  readonly treeshake?: Exclude<InputOptions['treeshake'], undefined>;
}

export interface BundledModule {
  readonly code: string;
  /** Files it was made of. */
  readonly watched: readonly string[];
}

/** A module with all it imports in one file: a classic script, or a module without imports. */
export async function bundleModule(path: string, format: 'iife' | 'es', { minify, ...input }: BundleOptions): Promise<BundledModule> {
  const bundle = await rolldown({ input: path, logLevel: 'warn', ...input });
  const { output } = await bundle.generate({ format, minify });
  const watched = await bundle.watchFiles;
  await bundle.close();
  return { code: output[0].code, watched };
}
