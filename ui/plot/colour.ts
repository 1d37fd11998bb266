/** Colours for readers that know sRGB alone. */
import type { Oklch } from './palette.ts';

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

/** "#1f2533": as shown, clipped to sRGB; its transfer curve by IEC 61966-2-1. */
export function hexOf(colour: Oklch): string {
  const channels = oklchToLinearSrgb(colour).map((linear) => {
    const shown = linear <= 0.0031308 ? 12.92 * linear : 1.055 * linear ** (1 / 2.4) - 0.055;
    return Math.round(255 * Math.min(1, Math.max(0, shown))).toString(16).padStart(2, '0');
  });
  return `#${channels.join('')}`;
}
