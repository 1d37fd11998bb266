/** Contrast of two OKLCH colours, for tests. */
import type { Oklch } from '../../ui/page/styles/palette.ts';

/**
 * Linear sRGB of an OKLCH colour, unclipped. Matrices: B. Ottosson, "A perceptual color space for image processing", 2020, as in CSS Color
 * Module Level 4, section 18.
 */
export function oklchToLinearSrgb([lightness, chroma, hueDegrees]: Oklch): [number, number, number] {
  const hue = hueDegrees * Math.PI / 180;
  const a = chroma * Math.cos(hue);
  const b = chroma * Math.sin(hue);
  const l = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3;
  const m = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3;
  const s = (lightness - 0.0894841775 * a - 1.291485548 * b) ** 3;
  return [
    4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s,
    -1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s,
    -0.0041960863 * l - 0.7034186147 * m + 1.707614701 * s,
  ];
}

/** Relative luminance (WCAG 2.2) of the colour as shown: clipped to sRGB. */
function luminance(colour: Oklch): number {
  const [r, g, b] = oklchToLinearSrgb(colour).map((channel) => Math.min(1, Math.max(0, channel))) as [number, number, number];
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

/** (L1 + 0.05)/(L2 + 0.05), WCAG 2.2. */
export function contrastRatio(one: Oklch, other: Oklch): number {
  const [dark, light] = [luminance(one), luminance(other)].sort((x, y) => x - y) as [number, number];
  return (light + 0.05) / (dark + 0.05);
}
