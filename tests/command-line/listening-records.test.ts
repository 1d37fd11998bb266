import { truncateSync, writeFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { writeBlindComparison, writeLongListening } from '../../dsp/setting/index.ts';
import { blindComparison, longListening } from '../setting/comparisons.ts';
import { run, workFolder } from './support.ts';

const inFolder = workFolder();

function written(name: string, text: string): string {
  const path = inFolder(name);
  writeFileSync(path, text);
  return path;
}

describe('stagebench blind', () => {
  it('prints the result of a record, reckoned anew', async () => {
    const path = written('abx.json', writeBlindComparison(blindComparison({}, { wrong: 1 })));
    const { exitCode, stdout, stderr } = await run('blind', path);
    expect([exitCode, stderr]).toEqual([0, '']);
    expect(stdout).toContain('whole path: first in circuit, second out of circuit\n');
    expect(stdout).toContain('excerpt 1, attack: 0.50 to 1.00 s, -0.030 dB left\n');
    expect(stdout).toMatch(/\n[678] hits in 8 trials; by guessing/);
    expect(stdout).toMatch(/\ntrial +A +B +X +answer +hit +excerpts\n/);
    const told = JSON.parse((await run('blind', path, '--json')).stdout) as object;
    expect(told).toMatchObject({ agrees: true, disagreements: [], seed: 20261126, result: { task: 'identify', trials: 8, nullTrials: 2 } });
  });

  it('answers at once for a plan of the most trials there may be', async () => {
    const path = written('many.json', writeBlindComparison(blindComparison()).replace('"trials": 8', '"trials": 100000'));
    const began = performance.now();
    expect(await run('blind', path)).toMatchObject({ exitCode: 1, stdout: expect.stringContaining('trials: expected more than 10 by the plan') as string });
    expect(performance.now() - began).toBeLessThan(5000);
  }, 20_000);

  it('concludes nothing from a record that does not agree with itself, and exits 1', async () => {
    const path = written('mended.json', writeBlindComparison(blindComparison()).replace('"hit": true', '"hit": false'));
    const { exitCode, stdout } = await run('blind', path);
    expect(exitCode).toBe(1);
    expect(stdout).toContain('This record does not agree with itself; nothing can be concluded from it.\n  trials[');
    expect(stdout).not.toContain('by guessing, as many or more');
    expect(JSON.parse((await run('blind', path, '--json')).stdout)).toMatchObject({ agrees: false });
  });

  it('shows a stranger\'s text without control characters', async () => {
    const made = blindComparison({ task: 'prefer' });
    const path = written('escapes.json', writeBlindComparison({ ...made, compared: { ...made.compared, what: 'path\u001b[2J', names: ['in\u001b[31m', 'out\u0007'] }, excerpts: made.excerpts.map((excerpt) => ({ ...excerpt, name: 'attack\u009b' })) }));
    expect((await run('blind', path)).stdout).not.toMatch(/[^\P{Cc}\n]/u);
  });

  it('exits 2 for what is no record', async () => {
    expect(await run('blind', written('long.json', writeLongListening(longListening(null))))).toMatchObject({ exitCode: 2, stderr: `stagebench: ${inFolder('long.json')}: format: expected "stagebench/blind-comparison", got "stagebench/long-listening"\n` });
    expect(await run('blind', inFolder('none.json'))).toMatchObject({ exitCode: 2, stderr: expect.stringContaining('expected a file, found none') as string });
    // Looked at before it is read: a file without content, of a size that no record has.
    truncateSync(written('huge.json', ''), 40_000_000);
    for (const [verb, what] of [['blind', 'a blind comparison'], ['sittings', 'a long listening']] as const) {
      expect(await run(verb, inFolder('huge.json'))).toMatchObject({ exitCode: 2, stderr: `stagebench: ${inFolder('huge.json')}: expected ${what} of at most 16 MB, got 40 MB\n` });
    }
    expect((await run('blind', written('named.json', writeBlindComparison(blindComparison()).replace('"stopped"', '"\u009b31mmood\\u001b[2J": 1, "stopped"')))).stderr).not.toMatch(/[^\P{Cc}\n]/u);
    expect(await run('blind')).toMatchObject({ exitCode: 2, stderr: expect.stringContaining('blind: expected 1 word besides the options, got none') as string });
  });
});

describe('stagebench sittings', () => {
  it('of one under way tells how far it is and no side', async () => {
    const { exitCode, stdout } = await run('sittings', written('under-way.json', writeLongListening(longListening(null, 3))));
    expect(exitCode).toBe(0);
    expect(stdout).toContain('3 of 14 sittings done; nothing is revealed before the end. If all 7 pairs point the same way, that comes by chance with 0.0156.');
    expect(stdout).toMatch(/\nsitting +began +minutes +ease +fatigue +believed +words\n1 +2026-11-01 20:15 +30\.0 /);
    expect(stdout).toContain('a guess');
  });

  it('of one that has ended tells the sides and what was shown', async () => {
    const path = written('ended.json', writeLongListening(longListening('2026-11-26')));
    const { exitCode, stdout } = await run('sittings', path);
    expect(exitCode).toBe(0);
    expect(stdout).toContain('Ease: 5.00 in circuit, 4.00 out of circuit on average; so large a difference, either way, comes by chance with 0.0156.\n');
    expect(stdout).toMatch(/believed +was +words\n/);
    expect(JSON.parse((await run('sittings', path, '--json')).stdout)).toMatchObject({ agrees: true, ended: '2026-11-26', result: { ease: { p: 2 / 128 }, wholePairs: 7 } });
  });

  it('shows a stranger\'s text without control characters', async () => {
    const made = longListening('2026-11-26');
    const path = written('escapes.json', writeLongListening({ ...made, compared: { ...made.compared, names: ['in\u001b[31m', 'out\u0007'] }, sittings: made.sittings.map((sitting) => ({ ...sitting, words: 'calm\u001b[0m\u0007' })) }));
    expect((await run('sittings', path)).stdout).not.toMatch(/[^\P{Cc}\n]/u);
  });

  it('exits 1 where ratings were changed, 2 for what is no such file', async () => {
    const changed = written('changed.json', writeLongListening(longListening('2026-11-26')).replace('"ease": 4', '"ease": 7'));
    expect(await run('sittings', changed)).toMatchObject({ exitCode: 1, stdout: expect.stringContaining('result: expected what plan and sittings give') as string });
    expect(await run('sittings', written('blind.json', writeBlindComparison(blindComparison())))).toMatchObject({ exitCode: 2 });
  });
});
