/** Contrast of two OKLCH colours, for tests. */
import { oklchToLinearSrgb } from '../../ui/plot/index.ts';
import type { Oklch } from '../../ui/plot/index.ts';

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
