/** The palette as custom properties, as documents have it too. */
export { paletteCss } from '../../plot/index.ts';
