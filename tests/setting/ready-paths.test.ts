/** The ready paths: what is in them, and that line level stays line level along each. */
import { describe, expect, it } from 'vitest';
import { measurePath, probePeakVolts, type PathHarmonics } from '../../dsp/measure/index.ts';
import { planPath, type PathSetting } from '../../dsp/path/index.ts';
import { parseSetting, readyPaths, readySetting, tenStagePath, writeSetting } from '../../dsp/setting/index.ts';

/** At line level unless said; by the plainest rule, which is within a tenth of a dB of the others here. */
function measured(path: PathSetting, levelDbu = 4, frequencyHz = 1000): PathHarmonics {
  const found = measurePath(planPath(path, 48_000, { rule: 'T1' }), { frequencyHz, peakVolts: probePeakVolts(levelDbu), scope: { kind: 'path' }, orders: [2, 3, 5, 7] });
  if (found.oscillates) throw new Error(`${found.stageKey} oscillates`);
  return found;
}

const dbOf = ({ harmonics }: PathHarmonics, order: number): number => harmonics.find((harmonic) => harmonic.order === order)!.db;

function withValues(path: PathSetting, index: number, values: Record<string, number | string>): PathSetting {
  return { ...path, stages: path.stages.map((stage, k) => (k === index ? { ...stage, values: { ...stage.values, ...values } } : stage)) };
}

describe.each(readyPaths.map(({ id }) => id))('%s', (id) => {
  const setting = readySetting(id);
  const ready = readyPaths.find((path) => path.id === id)!;

  it('has a name for the command line, a title, and says what to listen for, in the file too', () => {
    expect(id).toMatch(/^[a-z]+(-[a-z]+)*$/);
    expect(ready.listenFor.length).toBeGreaterThan(80);
    expect(setting.title).toBe(ready.title);
    expect(setting.notes.map(({ text }) => text)).toEqual([ready.listenFor]);
    expect(parseSetting(writeSetting(setting))).toEqual(setting);
  });

  it('keeps line level at every joint', () => {
    // 1 dB: what bridging inputs and 600 Ω take from outputs, each made good at its own default load only.
    for (const { key, levelDbu } of measured(setting.path).joints) expect(Math.abs(levelDbu - 4), `${key}: ${levelDbu} dBu`).toBeLessThan(1);
  });
});

describe('what the ready paths promise', () => {
  it('six, each another way to the ear', () => {
    expect(new Set(readyPaths.map(({ id }) => id)).size).toBe(6);
    expect(() => readySetting('garage')).toThrow(/^ready path: expected one of hall-amplifier, .*, got garage$/);
  });

  it('hall-amplifier: third harmonic from the cores in the bass, none at 1 kHz; clean to +26 dBu, then broken at once', () => {
    const { path } = readySetting('hall-amplifier');
    // At 2 ×: a bass note is long.
    const bass = measured({ ...path, oversamplingFactor: 2 }, 4, 50);
    const middle = measured(path);
    expect(dbOf(bass, 3)).toBeGreaterThan(-80);
    expect(dbOf(middle, 3)).toBeLessThan(-105);
    expect(dbOf(middle, 2)).toBeLessThan(-95);
    const [clean, broken] = [22, 24].map((driveDb) => measured({ ...withValues(path, 1, { driveDb }), oversamplingFactor: 4 })) as [PathHarmonics, PathHarmonics];
    expect(Math.abs(clean.fundamentalDbu - 26)).toBeLessThan(0.5);
    expect(dbOf(clean, 2)).toBeGreaterThan(dbOf(clean, 3));
    expect(dbOf(clean, 2)).toBeLessThan(-70);
    expect(dbOf(broken, 3)).toBeGreaterThan(-40);
  });

  it('hall-op-amp: distortion rises with frequency where the tail current is low', () => {
    const { path } = readySetting('hall-op-amp');
    const starved: PathSetting = { ...withValues(path, 1, { tailAmperes: 2e-4, driveDb: 8 }), stages: withValues(path, 1, { tailAmperes: 2e-4, driveDb: 8 }).stages.slice(1) };
    expect(dbOf(measured(starved, 4, 10_000), 3)).toBeGreaterThan(dbOf(measured(starved, 4, 1000), 3) + 10);
  });

  it('evening-dance: crossover that grows as the sound decays, gone at 1.3 mA', () => {
    const { path } = readySetting('evening-dance');
    const [attack, decay] = [measured(path, 4), measured(path, -16)];
    expect(dbOf(attack, 3)).toBeGreaterThan(-60);
    expect(dbOf(measured(withValues(path, 1, { quiescentAmperes: 1.3e-3 })), 3)).toBeLessThan(-80);
    expect(dbOf(measured(withValues(path, 1, { quiescentAmperes: 2.6e-3 })), 3)).toBeGreaterThan(dbOf(measured(withValues(path, 1, { quiescentAmperes: 1.3e-3 })), 3));
    expect(dbOf(decay, 3) + 0).toBeGreaterThan(-70);
  });

  it('rehearsal: the harmonics asked for, and no others', () => {
    const found = measured(readySetting('rehearsal').path);
    expect(Math.abs(dbOf(found, 2) + 50)).toBeLessThan(0.1);
    expect(Math.abs(dbOf(found, 3) + 66)).toBeLessThan(0.1);
    expect(dbOf(found, 5)).toBeLessThan(-110);
  });

  it('by-the-window: lifts 2.4 kHz by 3 dB and adds nothing', () => {
    const { path } = readySetting('by-the-window');
    expect(measured(path, 4, 2400).fundamentalDbu - measured(path, 4, 300).fundamentalDbu).toBeGreaterThan(2.5);
    expect(dbOf(measured(path), 3)).toBeLessThan(-150);
  });
});

describe('the path of ten stages', () => {
  const { path } = tenStagePath();

  it('has two transformers, two op-amps, equaliser, single-ended, push-pull, shaping, line and input', () => {
    expect(path.stages.map(({ stage }) => stage).toSorted()).toEqual([
      'equaliser', 'harmonic-shaping', 'line', 'microphone-input', 'op-amp-discrete', 'op-amp-integrated', 'push-pull', 'single-ended-bipolar', 'transformer-input', 'transformer-output',
    ]);
  });

  it('keeps line level at every joint', () => {
    for (const { key, levelDbu } of measured(path).joints) expect(Math.abs(levelDbu - 4), `${key}: ${levelDbu} dBu`).toBeLessThan(0.5);
  });
});
