import { describe, expect, it } from 'vitest';
import { parseSetting, writeSetting } from '../../dsp/setting/index.ts';
import { defaultValues } from '../../dsp/stages/index.ts';
import { openingSession } from '../../ui/page/opening.ts';
import { findValues } from '../../ui/page/find-value.ts';
import { differenceWords, jointWords } from '../../ui/page/joint-words.ts';
import { readSession, writeSession } from '../../ui/page/session-text.ts';
import { sheetKeys, sheets } from '../../ui/page/sheets.ts';
import { loops, makeBench } from './support.ts';

describe.each(sheetKeys)('the sheet %s', (key) => {
  it('is off at first, is switched on with the values of its table and off again, each one step', () => {
    const { bench } = makeBench();
    const { path } = bench.state.setting;
    expect(path[key]).toBeNull();
    bench.dispatch({ kind: 'sheet', sheet: key, on: true });
    expect(bench.state.setting.path[key]).toEqual(defaultValues(sheets[key]));
    bench.dispatch({ kind: 'sheet', sheet: key, on: true });
    bench.dispatch({ kind: 'undo' });
    expect(bench.state.setting.path).toEqual(path);
    expect(bench.state.live.message?.text).toBe(`undone, ${sheets[key].shortTitle} off`);
    expect(bench.state.live.canUndo).toBe(false);
    bench.dispatch({ kind: 'redo' });
    bench.dispatch({ kind: 'sheet', sheet: key, on: false });
    expect(bench.state.setting.path[key]).toBeNull();
  });

  it('has its values edited, kept in range, undone and frozen as a stage’s', () => {
    const { bench } = makeBench();
    const number = sheets[key].parameters.find((parameter) => parameter.kind === 'number')!;
    const choice = sheets[key].parameters.find((parameter) => parameter.kind === 'choice')!;
    const set = (parameter: string, value: number | string) => bench.dispatch({ kind: 'set-value', stageKey: key, parameter, value, phase: 'end' });
    set(number.id, 1);
    expect(bench.state.setting.path[key], 'off: nothing to edit').toBeNull();
    bench.dispatch({ kind: 'sheet', sheet: key, on: true });
    const { revision } = bench.state.live;
    set(number.id, 1e30);
    expect(bench.state.setting.path[key]![number.id]).toBe((number as { maximum: number }).maximum);
    expect(bench.state.live.revision).toBe(revision + 1);
    const other = (choice as { options: readonly { id: string }[] }).options.at(-1)!.id;
    set(choice.id, other);
    set(choice.id, 'no such way');
    expect(bench.state.setting.path[key]![choice.id]).toBe(other);
    expect(parseSetting(writeSetting(bench.state.setting)).path[key]).toEqual(bench.state.setting.path[key]);
    bench.dispatch({ kind: 'undo' });
    bench.dispatch({ kind: 'undo' });
    expect(bench.state.setting.path[key]).toEqual(defaultValues(sheets[key]));
  });

  it('is opened like a stage, stays open through changes of the path and a reload, and its values are found by name when it is on', () => {
    const { bench } = makeBench();
    bench.dispatch({ kind: 'open-stage', stageKey: key });
    bench.dispatch({ kind: 'remove-stage', stageKey: 's1' });
    expect(bench.state.session.openStageKey).toBe(key);
    const { setting, session } = bench.state;
    expect(readSession(JSON.parse(JSON.stringify(writeSession(session, setting))), setting, openingSession(setting, loops), loops).openStageKey).toBe(key);
    const { label } = sheets[key].parameters[0]!;
    expect(findValues(setting, key, label).some(({ stageKey }) => stageKey === key)).toBe(false);
    bench.dispatch({ kind: 'sheet', sheet: key, on: true });
    expect(findValues(bench.state.setting, key, label)[0]).toMatchObject({ stageKey: key, place: sheets[key].shortTitle });
  });
});

describe('a joint', () => {
  it('is joined on request as one step, told by undo', () => {
    const { bench } = makeBench();
    expect(jointWords(bench.state.setting, 0)).toBeNull();
    expect(jointWords(bench.state.setting, 1)).toMatchObject({ before: '1 single-ended', joined: false, short: 'not joined to 1 single-ended', verdict: '' });
    expect(jointWords(bench.state.setting, 2), 'the shaping stage is no circuit').toBeNull();
    bench.dispatch({ kind: 'join-stage', stageKey: 's2', joined: true });
    expect(jointWords(bench.state.setting, 1)).toMatchObject({ joined: true, short: 'joined to 1 single-ended' });
    bench.dispatch({ kind: 'undo' });
    expect(bench.state.setting.path.stages[1]!.joined).toBe(false);
    expect(bench.state.live.message?.text).toBe('undone, 2 push-pull not joined on request');
    bench.dispatch({ kind: 'stage-in-out', stageKey: 's1', inCircuit: false });
    expect(jointWords(bench.state.setting, 1), 'nothing stands before it').toBeNull();
  });

  it('takes the probe’s verdict into the setting, which is no change of a person’s; an older or misfitting one is dropped', () => {
    const { bench } = makeBench();
    const { revision } = bench.state.live;
    const joints = [null, { joined: true, differenceDb: 0.123 }, null];
    bench.dispatch({ kind: 'probed', revision: revision - 1, joints });
    bench.dispatch({ kind: 'probed', revision, joints: joints.slice(1) });
    expect(bench.state.setting.joints).toBeNull();
    bench.dispatch({ kind: 'probed', revision, joints });
    expect(bench.state.setting.joints).toEqual(joints);
    expect(bench.state.live).toMatchObject({ canUndo: false, changedSinceFrozen: false });
    expect(jointWords(bench.state.setting, 1)).toMatchObject({ joined: true, short: 'joined to 1 single-ended by the probe', verdict: '0.12 dB between the two ways' });
    const { setting } = bench.state;
    bench.dispatch({ kind: 'probed', revision, joints: joints.slice() });
    expect(bench.state.setting).toBe(setting);
  });

  it.each([[0, 'under 0.001 dB'], [0.00051, '0.001 dB'], [0.0123, '0.012 dB'], [3.456, '3.46 dB']])('%f dB is written %s', (db, words) =>
    expect(differenceWords(db)).toBe(`${words} between the two ways`));
});
