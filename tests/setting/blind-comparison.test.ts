import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { freezeSetting, openingSetting, parseBlindComparison, writeBlindComparison } from '../../dsp/setting/index.ts';
import { blindComparison, compared } from './comparisons.ts';

type Tree = Record<string, never>;
/** The file with one place changed. */
function changed(text: string, change: (file: never) => void): string {
  const file = JSON.parse(text) as never;
  change(file);
  return JSON.stringify(file);
}

const sequential = { kind: 'sequential', plan: { guessRate: 0.5, heardRate: 0.75, falseAlarm: 0.05, miss: 0.05, mostTrials: 60 } } as const;

describe('a blind comparison as a file', () => {
  it.each([
    ['ABX', blindComparison()],
    ['ABX that was left', blindComparison({}, { leavesAfter: 4 })],
    ['ABX by a sequential rule', blindComparison({ length: sequential, nullShare: 0.1 }, { wrong: 3 })],
    ['ABX with misses', blindComparison({ length: { kind: 'fixed', trials: 16, significance: 0.01 } }, { wrong: 5 })],
    ['preference', blindComparison({ task: 'prefer', nullShare: 0.25 })],
    ['a pair of drafts', { ...blindComparison(), compared: { ...compared, onTrial: 'pair' as const, what: 'drafts I and II', names: ['draft I', 'draft II'] as const, secondSetting: freezeSetting({ ...openingSetting(), title: 'second' }) } }],
  ])('%s: read back as it was written, and in agreement with itself', (_, comparison) => {
    const text = writeBlindComparison(comparison);
    const read = parseBlindComparison(text);
    expect(read.comparison).toEqual(comparison);
    expect(read.disagreements).toEqual([]);
    expect(writeBlindComparison(read.comparison)).toBe(text);
    expect(read.result.words.length).toBeGreaterThan(2);
  });

  const text = writeBlindComparison(blindComparison({}, { wrong: 2 }));

  it.each<[string, (file: Record<'compared' | 'plan' | 'result', Tree> & { trials: Record<string, unknown>[]; excerpts: Record<string, unknown>[]; stopped: boolean }) => void, RegExp]>([
    ['an answer made right', (file) => { file.trials[0]!['answer'] = 3 - (file.trials[0]!['answer'] as number); }, /^trials\[0\]: expected .* by the seed and the answer/],
    ['a hit ticked by hand', (file) => { file.trials[1]!['hit'] = file.trials[1]!['hit'] !== true; }, /^trials\[1\]: expected/],
    ['a trial left out', (file) => { file.trials.splice(3, 1); }, /^trials\[3\]: expected|^trials: expected more than/],
    ['another seed', (file) => { file.plan['seed'] = 1 as never; }, /^trials\[\d+\]: expected/],
    ['a smaller plan', (file) => { file.plan['length'] = { kind: 'fixed', trials: 6, significance: 0.05 } as never; }, /^trials: expected 8, after which the plan ends, got 10$/],
    ['called stopped', (file) => { file.stopped = true; }, /^stopped: expected false/],
    ['a better p', (file) => { file.result['p'] = 0.001 as never; }, /^result: expected what plan and trials give/],
    ['another value in the setting', (file) => { (file.compared['setting'] as { title: string }).title = 'another'; }, /^compared\.settingSha256: expected [0-9a-f]{64}, got [0-9a-f]{64}: the setting was changed/],
    ['another checksum of the setting, which its own covers', (file) => {
      const setting = file.compared['setting'] as { checksum: string };
      setting.checksum = `sha256:${'0'.repeat(64)}`;
      (file.compared as Record<string, unknown>)['settingSha256'] = createHash('sha256').update(`${JSON.stringify(setting, null, 2)}\n`).digest('hex');
    }, /^compared\.setting\.checksum: expected sha256:(?!0{64})[0-9a-f]{64}, got sha256:0{64}: the setting was changed/],
    ['a residual that is too large', (file) => { file.excerpts[1]!['residualDb'] = 0.2; }, /^excerpts\[1\]\.residualDb: expected at most 0\.1 dB either way, got 0\.2/],
    ['a match that is too far off', (file) => { (file.compared['levelMatch'] as { residualDb: number }).residualDb = -0.15; }, /^compared\.levelMatch\.residualDb: expected at most 0\.1 dB/],
  ])('%s is told', (_, change, sentence) => {
    const { disagreements } = parseBlindComparison(changed(text, change as (file: never) => void));
    expect(disagreements.some((each) => sentence.test(each)), disagreements.join('\n')).toBe(true);
  });

  it.each<[string, string, string]>([
    ['no JSON', 'trials: 8', 'file: expected a blind comparison in JSON, got text that is not JSON'],
    ['null', 'null', 'format: expected "stagebench/blind-comparison", got nothing'],
    ['another file', '{"format":"stagebench/setting"}', 'format: expected "stagebench/blind-comparison", got "stagebench/setting"'],
    ['another version', '{"format":"stagebench/blind-comparison","version":1}', 'version: expected 2, got 1'],
    ['an unknown field', changed(text, (file: Tree) => { file['mood'] = 'good' as never; }), 'mood: expected one of the fields format, version'],
    ['no answer to an identification', changed(text, (file: { trials: { answer: number }[] }) => { file.trials[0]!.answer = 0; }), 'trials[0].answer: expected one of 1, 2, got 0'],
    ['a plan that is none', changed(text, (file: { plan: { nullShare: number } }) => { file.plan.nullShare = 0.9; }), 'plan.nullShare: expected a share from 0 to 0.5, got 0.9'],
    ['an excerpt that is not there', changed(text, (file: { trials: { excerpts: number[] }[] }) => { file.trials[0]!.excerpts = [3]; }), 'trials[0].excerpts[0]: expected a whole number from 1 to 2, got 3'],
    ['half an excerpt', changed(text, (file: { trials: { excerpts: number[] }[] }) => { file.trials[0]!.excerpts = [1.5]; }), 'trials[0].excerpts[0]: expected a whole number from 1 to 2, got 1.5'],
    ['half a listen', changed(text, (file: { trials: { listens: { A: number } }[] }) => { file.trials[0]!.listens.A = 0.5; }), 'trials[0].listens.A: expected a whole number from 0 to 1000000, got 0.5'],
    ['an excerpt of no length', changed(text, (file: { excerpts: { endSeconds: number }[] }) => { file.excerpts[0]!.endSeconds = 0.5; }), 'excerpts[0].endSeconds: expected more than 0.5 s, got 0.5'],
    ['a day that no month has', changed(text, (file: Tree) => { file['date'] = '2026-02-30' as never; }), 'date: expected a date such as 2026-11-25, got "2026-02-30"'],
    ['a field named to do a terminal harm', changed(text, (file: Tree) => { file['\u001b[2J\u009b1m'] = 1 as never; }), '"\\u001b[2J\\u009b1m": expected one of the fields'],
    ['a setting that is none', changed(text, (file: { compared: { setting: { path: unknown } } }) => { file.compared.setting.path = 3; }), 'compared.setting: path: expected a list'],
  ])('%s is refused', (_, given, sentence) => {
    expect(() => parseBlindComparison(given)).toThrow(sentence);
  });

  it('cut after every thousandth character, it is refused in a sentence', () => {
    for (let length = 0; length < text.length; length += 1000) expect(() => parseBlindComparison(text.slice(0, length))).toThrow('file: expected a blind comparison in JSON');
  });
});
