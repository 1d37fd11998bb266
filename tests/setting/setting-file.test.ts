import { createHash } from 'node:crypto';
import Ajv2020 from 'ajv/dist/2020.js';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { supply, surroundings } from '../../dsp/path/index.ts';
import { freezeSetting, openingSetting, parseSetting, parseSettingFile, settingSchema, verdicts, writeSetting } from '../../dsp/setting/index.ts';
import type { Setting, SettingNote } from '../../dsp/setting/index.ts';
import { defaultValues, stages } from '../../dsp/stages/index.ts';
import type { Parameter, SheetDefinition } from '../../dsp/stages/index.ts';

const seed = 20261125;
const opening = writeSetting(openingSetting());

/** The opening file with one field changed and no checksum, as a hand would do it. */
function edited(change: (file: Record<string, unknown> & { path: { stage: string; values: Record<string, unknown> }[] }) => void): string {
  const file = JSON.parse(opening) as Parameters<typeof change>[0];
  delete file['checksum'];
  change(file);
  return JSON.stringify(file);
}

/** Any values of a sheet, or none. */
const anySheet = ({ parameters }: SheetDefinition) => fc.option(fc.record(Object.fromEntries(parameters.map((parameter) => [parameter.id, anyValue(parameter)]))));

const anyValue = (parameter: Parameter) => parameter.kind === 'choice'
  ? fc.constantFrom(...parameter.options.map(({ id }) => id))
  : fc.double({ min: parameter.minimum, max: parameter.maximum, noNaN: true }).map((value) => value + 0);

const anyRegion = fc.option(fc.tuple(fc.double({ min: 0, max: 100, noNaN: true }), fc.double({ min: 0.01, max: 100, noNaN: true })).map(([start, length]) => ({ startSeconds: start + 0, endSeconds: start + length })));

/** Notes with and without what they may carry; what they were made of differs from the setting that holds them. */
const anyNote: fc.Arbitrary<SettingNote> = fc.record({
  date: fc.constant('2026-11-25'),
  text: fc.string({ unit: 'grapheme', maxLength: 80 }),
  verdict: fc.constantFrom(...verdicts),
  pin: fc.record({
    programme: fc.option(fc.record({ title: fc.string({ unit: 'grapheme', maxLength: 20 }), identifier: fc.constantFrom('piano', 'file:0123456789abcdef'), sha256: fc.constantFrom(null, 'c'.repeat(64)), rateHz: fc.constantFrom(44_100, 48_000), trimDb: fc.constantFrom(0, -3.5) })),
    region: anyRegion,
    measurement: fc.option(fc.record({ frequencyHz: fc.constant(200), levelDbu: fc.constant(4), fundamentalDbu: fc.double({ min: -400, max: 100, noNaN: true }).map((db) => db + 0), orders: fc.array(fc.record({ order: fc.integer({ min: 2, max: 10 }), db: fc.constantFrom(-62.125, -400) }), { maxLength: 9 }) })),
    made: fc.string({ unit: 'grapheme', maxLength: 20 }).map((title) => freezeSetting({ ...openingSetting(), title })),
  }),
}, { requiredKeys: ['date', 'text'] });

/** Settings of up to four stages with any values of their ranges that the stage does not refuse. */
const anySetting: fc.Arbitrary<Setting> = fc.array(
  fc.constantFrom(...stages).chain((stage) => fc.record({
    stage: fc.constant(stage.id),
    inCircuit: fc.boolean(),
    reversed: fc.boolean(),
    joined: fc.boolean(),
    values: fc.record(Object.fromEntries(stage.parameters.map((parameter) => [parameter.id, anyValue(parameter)])))
      .map((values) => (stage.refuse(values) === null ? values : defaultValues(stage))),
  })), { maxLength: 4 },
).chain((path) => fc.record({
  title: fc.string({ unit: 'grapheme', maxLength: 40 }),
  notes: fc.array(anyNote, { maxLength: 3 }),
  baseRateHz: fc.constantFrom(44_100, 48_000, 96_000),
  rules: fc.constantFrom(null, path.map((_, index) => (index % 2 === 0 ? { rule: 'T12' as const, errorDb: 0.03125 } : null))),
  joints: fc.constantFrom(null, path.map((_, index) => (index % 2 === 0 ? null : { joined: index % 4 === 1, differenceDb: 0.015625 }))),
  levelMatch: fc.constantFrom(null, { onTrial: 'path' as const, inGainDb: -1.25, outGainDb: 0, residualDb: 0.01, programme: 'piano' }),
  path: fc.record({
    stages: fc.constant(path.map((stage, index) => ({ ...stage, key: `s${index + 1}` }))),
    oversamplingFactor: fc.constantFrom(1 as const, 2 as const, 4 as const, 8 as const, 16 as const),
    ladder: fc.constantFrom('linear-phase' as const, 'minimum-latency' as const),
    fullScaleDbu: fc.constantFrom(18 as const, 22 as const, 24 as const),
    surroundings: anySheet(surroundings),
    supply: anySheet(supply),
  }),
}));

/** Stages as they were written before there were joints. */
const withoutJoints = (path: unknown) => (path as Record<string, unknown>[]).map(({ joined: _joined, ...stage }) => stage);

describe('a setting file', () => {
  it('comes back equal, and is written again with the same bytes', () => {
    fc.assert(fc.property(anySetting, (setting) => {
      const text = writeSetting(setting);
      expect(parseSetting(text)).toEqual(setting);
      expect(writeSetting(parseSetting(text))).toBe(text);
    }), { seed, numRuns: 200 });
  });

  it('is the same for the published JSON Schema, read by another program', () => {
    const validate = new Ajv2020({ strict: true }).compile(settingSchema());
    fc.assert(fc.property(anySetting, (setting) => {
      expect(validate(JSON.parse(writeSetting(setting))), JSON.stringify(validate.errors)).toBe(true);
    }), { seed, numRuns: 100 });
    for (const spoilt of [
      edited((file) => { file['fullScaleDbu'] = 20; }),
      edited((file) => { file['more'] = 1; }),
      edited((file) => { file.path[0]!.stage = 'unheard-of'; }),
      edited((file) => { file.path[0]!.values['collectorOhms'] = -1; }),
      edited((file) => { delete file.path[0]!.values['collectorOhms']; }),
    ]) {
      expect(validate(JSON.parse(spoilt))).toBe(false);
      expect(() => parseSetting(spoilt)).toThrow();
    }
  });

  it('carries the checksum of its own content', () => {
    const { checksum, ...content } = JSON.parse(opening) as Record<string, unknown>;
    expect(checksum).toBe(`sha256:${createHash('sha256').update(JSON.stringify(content)).digest('hex')}`);
    expect(() => parseSetting(opening.replace('"title": "village hall', '"title": "village green'))).toThrow(/^checksum: expected sha256:[0-9a-f]{64}, got sha256:[0-9a-f]{64}: the file was changed/);
  });

  it('hashes text beyond the Basic Latin range as UTF-8', () => {
    const text = writeSetting({ ...openingSetting(), title: 'Ω − 𝄞 √' });
    const { checksum, ...content } = JSON.parse(text) as Record<string, unknown>;
    expect(checksum).toBe(`sha256:${createHash('sha256').update(JSON.stringify(content)).digest('hex')}`);
  });

  it('holds what a note was made of as the bytes of its own file, and refuses what was changed in it', () => {
    const made = freezeSetting({ ...openingSetting(), title: 'as it was', notes: [{ date: '2026-11-24', text: 'not taken along' }] });
    expect(made.setting.notes).toEqual([]);
    expect(made.sha256).toBe(createHash('sha256').update(writeSetting(made.setting)).digest('hex'));
    const pin = { programme: null, region: { startSeconds: 1.5, endSeconds: 3.25 }, measurement: null, made };
    const text = writeSetting({ ...openingSetting(), notes: [{ date: '2026-11-25', text: 'hard on the decay', verdict: 'not yet', pin }] });
    expect(parseSetting(text).notes[0]!.pin!.made.text).toBe(writeSetting(made.setting));
    const spoilt = (change: (pin: Record<string, unknown>, setting: Record<string, unknown>) => void) => {
      const { checksum: _checksum, ...file } = JSON.parse(text) as { checksum: string; notes: { pin: Record<string, unknown> & { setting: Record<string, unknown> } }[] };
      change(file.notes[0]!.pin, file.notes[0]!.pin.setting);
      return () => parseSetting(JSON.stringify(file));
    };
    expect(spoilt(() => undefined)).not.toThrow();
    expect(spoilt((_pin, setting) => { setting['title'] = 'as it never was'; })).toThrow(/^notes\[0\]\.pin\.settingSha256: expected [0-9a-f]{64}, got [0-9a-f]{64}: the setting was changed after it was written$/);
    expect(spoilt((_pin, setting) => { setting['notes'] = [{ date: '2026-11-25', text: 'within' }]; })).toThrow('notes[0].pin.setting.notes: expected an empty list, got a list');
    expect(spoilt((_pin, setting) => { delete setting['path']; })).toThrow('notes[0].pin.setting: path: expected a value, got nothing');
    expect(spoilt((changed) => { changed['region'] = { startSeconds: 3, endSeconds: 2 }; })).toThrow('notes[0].pin.region.endSeconds: expected more than 3 s, got 2');
    expect(spoilt((changed) => { changed['more'] = 1; })).toThrow('notes[0].pin.more: expected one of the fields programme, region, measurement, settingSha256, setting, got 1');
  });

  it('takes a file of version 1, which knew one rule for all, with its checksum', () => {
    const { format, title, notes, baseRateHz, fullScaleDbu, oversamplingFactor, ladder, path, levelMatch } = JSON.parse(opening) as Record<string, unknown>;
    const older = withoutJoints(path);
    const content = { format, version: 1, numerics: 1, title, notes, baseRateHz, fullScaleDbu, oversamplingFactor, ladder, integrationRule: 'T1', path: older, levelMatch };
    const checksum = `sha256:${createHash('sha256').update(JSON.stringify(content)).digest('hex')}`;
    expect(parseSettingFile(JSON.stringify({ ...content, checksum }))).toEqual({ setting: openingSetting(), numerics: 1 });
    expect(() => parseSetting(JSON.stringify({ ...content, integrationRule: 'T7' }))).toThrow('integrationRule: expected "T1", got "T7"');
  });

  it('takes a file of version 2, which knew no joints and nothing round the path', () => {
    const { format, title, notes, baseRateHz, fullScaleDbu, oversamplingFactor, ladder, path, levelMatch, rules } = JSON.parse(opening) as Record<string, unknown>;
    const content = { format, version: 2, numerics: 2, title, notes, baseRateHz, fullScaleDbu, oversamplingFactor, ladder, path: withoutJoints(path), levelMatch, rules };
    const checksum = `sha256:${createHash('sha256').update(JSON.stringify(content)).digest('hex')}`;
    expect(parseSettingFile(JSON.stringify({ ...content, checksum }))).toEqual({ setting: openingSetting(), numerics: 2 });
  });

  it('need not say what is round the path, what supplies it and what is joined', () => {
    const path = withoutJoints((JSON.parse(opening) as Record<string, unknown>)['path']) as { stage: string; values: Record<string, unknown> }[];
    expect(parseSetting(edited((file) => {
      for (const field of ['surroundings', 'supply', 'joints']) delete file[field];
      file.path = path;
    }))).toEqual(openingSetting());
  });

  it('may leave the rules out', () => {
    expect(parseSetting(edited((file) => { delete file['rules']; }))).toEqual(openingSetting());
  });

  it.each([{ stageIndex: 1 }, { stageIndex: 1, without: 'crossover' }])('keeps the match of a stage and of a mechanism: %j', (onTrial) => {
    const setting = { ...openingSetting(), levelMatch: { onTrial, inGainDb: -1.25, outGainDb: 0, residualDb: 0.01, programme: 'piano' } };
    const text = writeSetting(setting);
    expect(parseSetting(text)).toEqual(setting);
    expect(new Ajv2020({ strict: true }).compile(settingSchema())(JSON.parse(text))).toBe(true);
  });

  it('keeps the numerics it was made under', () => {
    expect(parseSettingFile(edited((file) => { file['numerics'] = 7; })).numerics).toBe(7);
  });

  it('has the same bytes after a hundred values were turned and turned back', () => {
    let setting = openingSetting();
    const first = setting.path.stages[0]!;
    for (let turn = 0; turn < 100; turn += 1) {
      const values = { ...setting.path.stages[0]!.values, collectorOhms: 1000 + turn };
      setting = { ...setting, path: { ...setting.path, stages: [{ ...first, values }, ...setting.path.stages.slice(1)] } };
    }
    setting = { ...setting, path: { ...setting.path, stages: [first, ...setting.path.stages.slice(1)] } };
    expect(writeSetting(setting)).toBe(opening);
  });
});

describe('a refused setting file', () => {
  const refusals: [name: string, text: string, sentence: RegExp][] = [
    ['not JSON', '{ "format": ', /^file: expected a setting in JSON, got text that is not JSON$/],
    ['a list', '[]', /^file: expected an object, got a list$/],
    ['another format', '{"format":"something/else"}', /^format: expected "stagebench\/setting", got "something\/else"$/],
    ['a later version', edited((file) => { file['version'] = 9; }), /^version: expected 1 to 3, got 9$/],
    ['an unknown stage', edited((file) => { file.path[1]!.stage = 'ring-modulator'; }), /^path\[1\]\.stage: expected one of .*"push-pull".*, got "ring-modulator"$/],
    ['an unknown value', edited((file) => { file.path[0]!.values['warmth'] = 11; }), /^path\[0\]\.values\.warmth: expected one of the fields .*collectorOhms.*, got 11$/],
    ['a missing value', edited((file) => { delete file.path[0]!.values['collectorOhms']; }), /^path\[0\]\.values\.collectorOhms: expected a value, got nothing$/],
    ['a value beyond its range', edited((file) => { file.path[0]!.values['collectorOhms'] = 1e12; }), /^path\[0\]: single-ended-bipolar\.collectorOhms: expected .*, got 1 TΩ$|^path\[0\]: single-ended-bipolar\.collectorOhms: expected .*, got /],
    ['text for a number', edited((file) => { file.path[0]!.values['collectorOhms'] = '4k7'; }), /collectorOhms: expected .*, got "4k7"$/],
    ['a superfluous field', edited((file) => { file['author'] = 'nobody'; }), /^author: expected one of the fields .*, got "nobody"$/],
    ['surroundings beyond their range', edited((file) => { file['surroundings'] = { ...defaultValues(surroundings), loadOhms: 1 }; }), /^surroundings: surroundings\.loadOhms: expected .*, got 1 Ω$/],
    ['surroundings that are not complete', edited((file) => { file['surroundings'] = { loadOhms: 600 }; }), /^surroundings\.sourceOhms: expected a value, got nothing$/],
    ['too few verdicts on joints', edited((file) => { file['joints'] = [null, { joined: true, differenceDb: 0.1 }]; }), /^joints: expected one for each of 3 stages, got 2$/],
    ['a verdict without a figure', edited((file) => { file['joints'] = [null, { joined: true }, null]; }), /^joints\[1\]\.differenceDb: expected a value, got nothing$/],
    ['a bad note', edited((file) => { file['notes'] = [{ date: 'yesterday', text: '' }]; }), /^notes\[0\]\.date: expected text of at most 10 characters|^notes\[0\]\.date: expected a date such as 2026-11-25, got "yesterday"$/],
    ['a gain above 0 dB', edited((file) => { file['levelMatch'] = { onTrial: 'path', inGainDb: 1, outGainDb: 0, residualDb: 0, programme: 'piano' }; }), /^levelMatch\.inGainDb: expected a number from -200 to 0, got 1$/],
    ['a match of a stage that is not there', edited((file) => { file['levelMatch'] = { onTrial: { stageIndex: 3 }, inGainDb: 0, outGainDb: 0, residualDb: 0, programme: 'piano' }; }), /^levelMatch\.onTrial\.stageIndex: expected a number from 0 to 2, got 3$/],
    ['rules of fewer stages', edited((file) => { file['rules'] = [null]; }), /^rules: expected one for each of 3 stages, got 1$/],
    ['a rule nobody knows', edited((file) => { file['rules'] = [{ rule: 'T3', errorDb: 0 }, null, null]; }), /^rules\[0\]\.rule: expected one of "T1", "T12", "T24", "S1", "S2", "S4", got "T3"$/],
    ['an estimate that is none', edited((file) => { file['rules'] = [{ rule: 'T1', errorDb: -1 }, null, null]; }), /^rules\[0\]\.errorDb: expected a number from 0 to 400, got -1$/],
  ];
  it.each(refusals)('%s: one sentence with place, expected and got', (_name, text, sentence) => {
    let message = '';
    try {
      parseSetting(text);
    } catch (error) {
      expect((error as Error).name).toBe('SettingError');
      message = (error as Error).message;
    }
    expect(message).toMatch(sentence);
  });

  it('never throws anything but a SettingError, whatever the text', () => {
    fc.assert(fc.property(fc.oneof(fc.string(), fc.json()), (text) => {
      try {
        parseSetting(text);
        return false;
      } catch (error) {
        return (error as Error).name === 'SettingError';
      }
    }), { seed, numRuns: 500 });
  });
});
