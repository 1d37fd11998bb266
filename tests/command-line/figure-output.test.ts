import { mkdtemp, readdir, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { Figure } from '../../dsp/measure/figures/index.ts';
import { readWords } from '../../ui/command-line/arguments.ts';
import { figureOptions, giveFigure } from '../../ui/command-line/figure-output.ts';
import { figureOf, harmonicsFigure } from '../plot/figures.ts';

let folder = '';
beforeEach(async () => { folder = await mkdtemp(join(tmpdir(), 'figure-')); });
afterEach(async () => { await rm(folder, { recursive: true }); });

async function given(figure: Figure, ...words: readonly string[]): Promise<string> {
  let printed = '';
  const write = vi.spyOn(process.stdout, 'write').mockImplementation((text) => { printed += String(text); return true; });
  try {
    await giveFigure(figure, readWords('sweep', words, figureOptions));
  } finally {
    write.mockRestore();
  }
  return printed;
}

describe('a figure in a terminal', () => {
  it('is its title, its table, its sentence and its remarks', async () => {
    const lines = (await given(harmonicsFigure())).trimEnd().split('\n');
    expect([lines[0], lines[2]!.trim().split(/\s{2,}/).slice(0, 3)]).toEqual(['Harmonics against level, whole path, 1 kHz', ['level, dBu', 'H2, dB', 'H3, dB']]);
    expect(lines[3]!.trim().split(/\s+/)[0]).toBe('−60.0');
    expect(lines.slice(-2)).toEqual([harmonicsFigure().caption, 'Orders under −160 dB are below the numerical floor and not drawn.']);
  });

  it('is one object as JSON and its tables as CSV', async () => {
    const data = JSON.parse(await given(harmonicsFigure(), '--json')) as { panels: { traces: { y: (number | null)[] }[] }[] };
    expect(data.panels[0]!.traces[8]!.y[0]).toBeNull();
    expect((await given(harmonicsFigure(), '--csv')).split('\r\n')[0]).toBe('"level, dBu","H2, dB","H3, dB","H4, dB","H5, dB","H6, dB","H7, dB","H8, dB","H9, dB","H10, dB"');
    await expect(given(harmonicsFigure(), '--csv', '--json')).rejects.toThrow('expected --json or --csv, got both');
  });

  it('is drawn into a file, whole or not at all', async () => {
    const path = join(folder, 'figure.svg');
    expect(await given(harmonicsFigure(), '--svg', path)).toContain('H2');
    expect(await readFile(path, 'utf8')).toMatch(/^<svg [^]*<\/svg>\n$/);
    expect(await readdir(folder)).toEqual(['figure.svg']);
    await expect(given(harmonicsFigure(), '--svg', join(folder, 'nowhere', 'figure.svg'))).rejects.toThrow('ENOENT');
    await expect(given(figureOf([]), '--svg', path)).rejects.toThrow('--svg: "A figure" is a table alone, there is nothing to draw');
  });
});
