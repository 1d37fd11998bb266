import { describe, expect, it } from 'vitest';
import { applyChange, openingSetting, parseEvents, writeEvents } from '../../dsp/setting/index.ts';
import type { PathChange } from '../../dsp/setting/index.ts';

const log: PathChange[] = [
  { kind: 'values', frame: 960, stageIndex: 1, values: { quiescentAmperes: 0.0026 } },
  { kind: 'switch', frame: 4800, trialIn: false },
];

describe('a log of changes', () => {
  it('comes back equal', () => expect(parseEvents(writeEvents(log))).toEqual(log));

  it('changes one stage and leaves the others as they are', () => {
    const { path } = openingSetting();
    const after = applyChange(path, log[0] as PathChange & { kind: 'values' });
    expect(after.stages[1]!.values['quiescentAmperes']).toBe(0.0026);
    expect(after.stages[0]).toBe(path.stages[0]);
    expect(after.stages[2]).toBe(path.stages[2]);
  });

  it('refuses frames that go backwards, unknown kinds and values of no stage', () => {
    expect(() => parseEvents(writeEvents([log[1]!, log[0]!]))).toThrow('events[1].frame: expected at least 4800, the frame before it, got 960');
    expect(() => parseEvents('{"format":"stagebench/events","version":1,"events":[{"kind":"shout","frame":0}]}')).toThrow('events[0].kind: expected one of "values", "switch", got "shout"');
    const { path } = openingSetting();
    expect(() => applyChange(path, { kind: 'values', frame: 0, stageIndex: 7, values: {} })).toThrow('events: expected a stage from 0 to 2, got 7');
    expect(() => applyChange(path, { kind: 'values', frame: 0, stageIndex: 1, values: { quiescentAmperes: 40 } })).toThrow(/^events: push-pull\.quiescentAmperes: expected .*, got 40 A$/);
  });
});
