import { describe, expect, it } from 'vitest';
import { hexOf, oklchToLinearSrgb, palette, paletteCss } from '../../ui/plot/index.ts';
import type { ColourName, Oklch } from '../../ui/plot/index.ts';
import { contrastRatio } from './contrast.ts';

const schemes = ['light', 'dark'] as const;
const named = (name: ColourName, scheme: 'light' | 'dark'): Oklch => palette[name][scheme];
const grounds = (['paper', 'sheet', 'wash'] as const);
const marks = (Object.keys(palette) as ColourName[]).filter((name) => palette[name].use === 'text' || palette[name].use === 'graphic');

describe('the contrast measure', () => {
  // White and black by WCAG 2.2: 21. CSS Color 4: oklch(1 0 0) is white; oklch(0.627955 0.257683 29.2339) is sRGB red, luminance 0.2126.
  it('gives 21 for black on white and 5.25 for red on black', () => {
    expect(contrastRatio([0, 0, 0], [1, 0, 0])).toBeCloseTo(21, 1);
    const red = oklchToLinearSrgb([0.627955, 0.257683, 29.2339]);
    expect(red.map((channel) => Number(channel.toFixed(3)) + 0)).toEqual([1, 0, 0]);
    expect(contrastRatio([0.627955, 0.257683, 29.2339], [0, 0, 0])).toBeCloseTo(5.252, 2);
  });

  // CSS Color 4, section 18: oklch(0.51975 0.17686 142.495) is sRGB green, #008000.
  it('writes red and green as sRGB has them', () => {
    expect([hexOf([0.627955, 0.257683, 29.2339]), hexOf([0.51975, 0.17686, 142.495]), hexOf([0, 0, 0]), hexOf([1, 0, 0])]).toEqual(['#ff0000', '#008000', '#000000', '#ffffff']);
  });
});

describe.each(schemes)('the %s palette', (scheme) => {
  it.each(marks.flatMap((mark) => grounds.map((ground) => [mark, ground] as const)))('%s on %s', (mark, ground) => {
    const ratio = contrastRatio(named(mark, scheme), named(ground, scheme));
    expect(ratio).toBeGreaterThanOrEqual(palette[mark].use === 'text' ? 4.5 : 3);
  });

  it('keeps every colour inside sRGB', () => {
    for (const entry of Object.values(palette)) {
      for (const channel of oklchToLinearSrgb(entry[scheme])) expect(channel > -0.002 && channel < 1.002, JSON.stringify(entry[scheme])).toBe(true);
    }
  });
});

describe('the design table', () => {
  // Ratios on paper, sheet and wash as the design states them.
  it.each<[ColourName, 'light' | 'dark', number[]]>([
    ['ink', 'light', [13.8, 14.6, 12.1]], ['ink', 'dark', [14.5, 13.4, 9.9]], ['pencil', 'light', [6.5, 7, 5.7]], ['pencil', 'dark', [8.2, 7.5, 5.5]],
    ['pen', 'light', [7, 7.4, 6.1]], ['pen', 'dark', [9.4, 8.7, 6.4]], ['madder', 'light', [5.9, 6.3, 5.2]], ['madder', 'dark', [8.4, 7.7, 5.7]],
    ['edge', 'light', [3.6, 3.8, 3.1]], ['edge', 'dark', [4.6, 4.2, 3.1]],
  ])('%s, %s: %j within 0.1', (name, scheme, stated) => {
    grounds.forEach((ground, index) => {
      const error = Math.abs(contrastRatio(named(name, scheme), named(ground, scheme)) - stated[index]!);
      expect(error <= 0.1, `${name} on ${ground}: off by ${error}`).toBe(true);
    });
  });
});

describe('the style sheet', () => {
  it('states every colour for light, dark, the look and forced colours', () => {
    const css = paletteCss();
    for (const name of Object.keys(palette)) expect(css.split(`--${name}:`)).toHaveLength(6);
    expect(css).toContain('--ink:oklch(0.27 0.03 262)');
    expect(css.indexOf('forced-colors')).toBeGreaterThan(css.indexOf('data-look="dark"'));
  });
});
