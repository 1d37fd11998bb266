/** The palette as custom properties: --paper, --sheet, … */
import { palette, type Oklch, type PaletteEntry } from './palette.ts';

function declarations(colourOf: (entry: PaletteEntry) => string): string {
  return Object.entries(palette).map(([name, entry]) => `--${name}:${colourOf(entry)};`).join('');
}

const oklch = ([lightness, chroma, hue]: Oklch) => `oklch(${lightness} ${chroma} ${hue})`;

/**
 * Style sheet of the palette. The look follows the system unless the root carries data-look="light" or "dark"; forced colours win over both.
 */
export function paletteCss(): string {
  const light = `color-scheme:light;${declarations(({ light: colour }) => oklch(colour))}`;
  const dark = `color-scheme:dark;${declarations(({ dark: colour }) => oklch(colour))}`;
  return [
    `:root{${light}}`,
    `@media (prefers-color-scheme:dark){:root{${dark}}}`,
    `:root[data-look="light"]{${light}}`,
    `:root[data-look="dark"]{${dark}}`,
    `@media (forced-colors:active){:root,:root[data-look]{${declarations(({ forced }) => forced)}}}`,
  ].join('\n');
}
