import { describe, expect, it } from 'vitest';
import { supply, surroundings } from '../../dsp/path/index.ts';
import { applyValues, changeBetween, openingSetting, parseEvents, writeEvents } from '../../dsp/setting/index.ts';
import type { LoggedChange, Played, PlayingLog } from '../../dsp/setting/index.ts';
import { defaultValues } from '../../dsp/stages/index.ts';

const { path } = openingSetting();
const log: PlayingLog = {
  programme: 'piano', rateHz: 48_000, frames: 9600,
  changes: [
    { frame: 0, kind: 'path', stages: path.stages, surroundings: null, supply: defaultValues(supply), joints: [null, { joined: true, differenceDb: 0.0125 }, null], onTrial: { kind: 'stage', key: 's2' } },
    { frame: 0, kind: 'switch', trialIn: true },
    { frame: 0, kind: 'match', inGain: 1, outGain: 0.948 },
    { frame: 0, kind: 'position', positionFrame: 100, startFrame: 0, endFrame: 480_000 },
    { frame: 960, kind: 'values', stageIndex: 1, values: { quiescentAmperes: 0.0026 } },
    { frame: 4800, kind: 'switch', trialIn: false },
  ],
};
const withChanges = (...changes: LoggedChange[]) => writeEvents({ ...log, changes });

describe('a log of changes', () => {
  it('comes back equal', () => expect(parseEvents(writeEvents(log))).toEqual(log));

  it('keeps a mechanism on trial, by its stage\'s place and its identifier', () => {
    const played = { ...(log.changes[0] as LoggedChange & { kind: 'path' }), onTrial: { kind: 'without' as const, key: 's2', mechanism: 'crossover' } };
    const text = writeEvents({ ...log, changes: [played, ...log.changes.slice(1)] });
    expect(JSON.parse(text)).toMatchObject({ changes: [{ onTrial: { stageIndex: 1, without: 'crossover' } }, {}, {}, {}, {}, {}] });
    expect(parseEvents(text).changes[0]).toEqual(played);
  });

  it('changes one stage and leaves the others as they are', () => {
    const after = applyValues(path, log.changes[4] as LoggedChange & { kind: 'values' });
    expect(after.stages[1]!.values['quiescentAmperes']).toBe(0.0026);
    expect(after.stages[0]).toBe(path.stages[0]);
    expect(after.stages[2]).toBe(path.stages[2]);
  });

  it('says the smallest change between two paths', () => {
    const before: Played = { stages: path.stages, surroundings: null, supply: null, joints: null, onTrial: { kind: 'path' } };
    const [first, second, third] = path.stages as [typeof path.stages[0], typeof path.stages[0], typeof path.stages[0]];
    const turned = { ...second, values: { ...second.values, quiescentAmperes: 0.001 } };
    expect(changeBetween(before, { ...before, stages: [first, turned, third] }, 64)).toEqual({ frame: 64, kind: 'values', stageIndex: 1, values: { quiescentAmperes: 0.001 } });
    for (const more of [
      { stages: [second, first, third] }, { stages: [first, turned] }, { stages: [first, { ...second, inCircuit: false }, third] }, { stages: [first, { ...second, joined: true }, third] },
      { surroundings: defaultValues(surroundings) }, { stages: [first, turned, third], supply: defaultValues(supply) }, { joints: [null, { joined: true, differenceDb: 0.1 }, null] },
    ]) {
      const after: Played = { ...before, ...more };
      expect(changeBetween(before, after, 64)).toEqual({ frame: 64, kind: 'path', ...after });
    }
  });

  it('reads a log of version 1, whose paths stood in nothing', () => {
    const file = JSON.parse(writeEvents({ ...log, changes: [{ ...log.changes[0]!, surroundings: null, supply: null, joints: null } as LoggedChange, ...log.changes.slice(1)] })) as { version: number; changes: Record<string, unknown>[] };
    const older = { ...file, version: 1, changes: file.changes.map(({ surroundings: _around, supply: _fed, joints: _joints, ...change }) => change) };
    expect(parseEvents(JSON.stringify(older))).toEqual(parseEvents(JSON.stringify(file)));
    expect(() => parseEvents(JSON.stringify({ ...older, version: 2 }))).toThrow('changes[0].surroundings: expected a value, got nothing');
  });

  it('refuses frames that go backwards, unknown kinds and values of no stage', () => {
    expect(() => parseEvents(withChanges(log.changes[5]!, log.changes[4]!))).toThrow('changes[1].frame: expected at least 4800, the frame before it, got 960');
    expect(() => parseEvents(withChanges({ frame: 0, kind: 'shout' } as unknown as LoggedChange))).toThrow('changes[0].kind: expected one of "values", "path", "switch", "match", "position", got "shout"');
    expect(() => applyValues(path, { frame: 0, kind: 'values', stageIndex: 7, values: {} })).toThrow('changes: expected a stage from 0 to 2, got 7');
    expect(() => applyValues(path, { frame: 0, kind: 'values', stageIndex: 1, values: { quiescentAmperes: 40 } })).toThrow(/^changes: push-pull\.quiescentAmperes: expected .*, got 40 A$/);
  });
});
