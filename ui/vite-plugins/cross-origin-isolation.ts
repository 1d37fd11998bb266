import type { Plugin } from 'vite';

const headers = {
  'Cross-Origin-Opener-Policy': 'same-origin',
  'Cross-Origin-Embedder-Policy': 'require-corp',
};

/** Serves every page cross-origin isolated, so that SharedArrayBuffer may be used for meters. */
export function crossOriginIsolation(): Plugin {
  return {
    name: 'cross-origin-isolation',
    config: () => ({ server: { headers }, preview: { headers } }),
  };
}
crossOriginIsolation.headers = headers;
