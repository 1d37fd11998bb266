/** Figures in the state: which is open, what is asked of it, what is kept. */
import { afterEach, describe, expect, it, vi } from 'vitest';
import { figureViews } from '../../dsp/measure/figures/index.ts';
import type { Figure } from '../../dsp/measure/figures/index.ts';
import type { ChoiceParameter, NumberParameter } from '../../dsp/stages/index.ts';
import { writeSetting } from '../../dsp/setting/index.ts';
import { restoreAutosave, writeAutosave } from '../../ui/page/autosave.ts';
import { differencesFromNow, figureScope, figureValues, keptName, mostKept, pathIsAsKept, scopeWords } from '../../ui/page/kept-figures.ts';
import { readKept, writeKept } from '../../ui/page/kept-text.ts';
import { loops, makeBench } from './support.ts';

const numbered = figureViews.find(({ parameters }) => parameters.some(({ kind }) => kind === 'number'))!;
const number = numbered.parameters.find((parameter): parameter is NumberParameter => parameter.kind === 'number')!;
const chosen = figureViews.find(({ parameters }) => parameters.some(({ kind }) => kind === 'choice'))!;
const choice = chosen.parameters.find((parameter): parameter is ChoiceParameter => parameter.kind === 'choice')!;
const inside = (number.minimum + number.maximum) / 2;

const axis = { label: 'level', unit: 'dBu', scale: 'linear', written: 'plain', from: -60, to: 30 } as const;
const drawn: Figure = {
  title: 'A figure', caption: 'Its sentence.', tables: [{ columns: [], rows: [] }], remarks: ['A remark.'],
  panels: [{ title: '', x: axis, left: axis, marks: [{ x: 3, words: 'clips' }], traces: [{ id: 'H2', label: 'H2', axis: 'left', role: 'main', order: 2, drawn: 'line', x: Float64Array.of(-60, 0, 30), y: Float64Array.of(-120.123456789, NaN, -40) }] }],
};

function benchWithKept() {
  const made = makeBench();
  const { bench } = made;
  bench.dispatch({ kind: 'open-figure', view: numbered.id });
  bench.dispatch({ kind: 'keep-figure', view: numbered.id, figure: drawn, keptAt: '2026-11-26 21:05' });
  const kept = () => bench.state.session.kept[0]!;
  return { ...made, kept, name: () => keptName(kept(), bench.state) };
}

describe('the open figure', () => {
  it('opens one at a time, folds the margin, is remembered when it closes, and is no step of the history', () => {
    const { bench } = makeBench();
    bench.dispatch({ kind: 'margin', open: true });
    for (const { id } of figureViews.slice(0, 2)) {
      bench.dispatch({ kind: 'open-figure', view: id });
      expect(bench.state.session.figures).toMatchObject({ open: id, last: id });
      expect(bench.state.session.marginOpen).toBe(false);
    }
    bench.dispatch({ kind: 'margin', open: true });
    bench.dispatch({ kind: 'open-figure', view: null });
    expect(bench.state.session.figures).toMatchObject({ open: null, last: figureViews[1]!.id });
    expect(bench.state.session.marginOpen, 'closing leaves the margin as it is').toBe(true);
    const before = bench.state;
    bench.dispatch({ kind: 'open-figure', view: 'no-such-view' });
    expect(bench.state).toBe(before);
    expect(bench.state.live).toMatchObject({ canUndo: false, revision: 1 });
  });

  it('takes values of its own table, in their range, and gives the table’s for the rest', () => {
    const { bench } = makeBench();
    const set = (parameter: string, value: number | string, view = numbered.id) => bench.dispatch({ kind: 'figure-value', view, parameter, value, phase: 'end' });
    expect(figureValues(bench.state, numbered.id)).toEqual(Object.fromEntries(numbered.parameters.map(({ id, default: standard }) => [id, standard])));
    set(number.id, inside);
    expect(figureValues(bench.state, numbered.id)[number.id]).toBe(inside);
    set(number.id, number.maximum + 1);
    expect(figureValues(bench.state, numbered.id)[number.id]).toBe(number.maximum);
    const { figures } = bench.state.session;
    for (const [parameter, value] of [[number.id, NaN], [number.id, 'loud'], ['nothing', 3], [number.id, number.maximum]] as const) set(parameter, value);
    set(choice.id, 'no such option', chosen.id);
    set(number.id, inside, 'no-such-view');
    expect(bench.state.session.figures).toBe(figures);
    const other = choice.options.find(({ id }) => id !== choice.default)!.id;
    set(choice.id, other, chosen.id);
    expect(figureValues(bench.state, chosen.id)[choice.id]).toBe(other);
  });

  it('is of the open stage alone where that is asked for; of a sheet, which is no stage, of the whole path', () => {
    const { bench } = makeBench();
    bench.dispatch({ kind: 'figure-scope', scope: 'stage' });
    expect(figureScope(bench.state)).toEqual({ kind: 'stage', key: 's2' });
    expect(scopeWords(bench.state)).toBe('2 push-pull alone');
    bench.dispatch({ kind: 'open-stage', stageKey: 's1' });
    expect(figureScope(bench.state)).toEqual({ kind: 'stage', key: 's1' });
    bench.dispatch({ kind: 'open-stage', stageKey: 'supply' });
    expect(figureScope(bench.state)).toEqual({ kind: 'path' });
  });
});

describe('a kept figure', () => {
  it('is named by what differs from now: one, two, more', () => {
    const { bench, set, name } = benchWithKept();
    expect(name()).toBe('as it is now');
    set('end', 22);
    expect(name()).toBe('RE 10 Ω');
    set('end', 27, 's2', 'railVolts');
    expect(name()).toBe('RE 10 Ω, VCC 18 V (2 push-pull)');
    bench.dispatch({ kind: 'stage-in-out', stageKey: 's1', inCircuit: false });
    bench.dispatch({ kind: 'figure-value', view: numbered.id, parameter: number.id, value: inside, phase: 'end' });
    expect(name()).toBe('1 single-ended in, RE 10 Ω and 2 more');
    set('end', 10);
    expect(name()).toBe('1 single-ended in, VCC 18 V (2 push-pull) and 1 more');
  });

  it('tells differences of order, polarity, joints, sheets, calibration, rate and scope', () => {
    const { bench, kept } = benchWithKept();
    bench.dispatch({ kind: 'reverse-polarity', stageKey: 's2' });
    bench.dispatch({ kind: 'join-stage', stageKey: 's3', joined: true });
    bench.dispatch({ kind: 'sheet', sheet: 'supply', on: true });
    bench.dispatch({ kind: 'calibration', fullScaleDbu: 18 });
    bench.dispatch({ kind: 'rate-factor', factor: 4 });
    bench.dispatch({ kind: 'ladder', ladder: 'minimum-latency' });
    bench.dispatch({ kind: 'figure-scope', scope: 'stage' });
    expect(differencesFromNow(kept(), bench.state)).toEqual(['2 push-pull not reversed', '3 shaping not joined', 'supply off', '0 dBFS = +24 dBu', '× 8', 'linear phase', 'whole path']);
    bench.dispatch({ kind: 'move-stage', stageKey: 's1', toIndex: 2 });
    expect(differencesFromNow(kept(), bench.state)[0]).toBe('path single-ended, push-pull, shaping');
  });

  it('is named by hand, and by itself again when the name is emptied', () => {
    const { bench, set, kept, name } = benchWithKept();
    bench.dispatch({ kind: 'name-kept', id: kept().id, name: '  the warm one ' });
    set('end', 22);
    expect(name()).toBe('the warm one');
    bench.dispatch({ kind: 'name-kept', id: kept().id, name: ' ' });
    expect(name()).toBe('RE 10 Ω');
  });

  it('gives its path back in one step that can be undone, and leaves title and notes', () => {
    const { bench, set, value, kept, undoDepth } = benchWithKept();
    set('end', 22);
    bench.dispatch({ kind: 'stage-in-out', stageKey: 's1', inCircuit: false });
    bench.dispatch({ kind: 'remove-stage', stageKey: 's3' });
    bench.dispatch({ kind: 'note', text: 'thinner' });
    bench.dispatch({ kind: 'open-stage', stageKey: 's2' });
    const changed = bench.state.setting;
    const { revision } = bench.state.live;
    bench.dispatch({ kind: 'restore-kept', id: kept().id });
    expect(value('s2', 'emitterOhms')).toBe(10);
    expect(bench.state.setting.path.stages.map(({ stage, inCircuit }) => [stage, inCircuit])).toEqual([['single-ended-bipolar', true], ['push-pull', true], ['harmonic-shaping', true]]);
    expect(bench.state.setting.notes).toBe(changed.notes);
    expect(bench.state.live.revision).toBeGreaterThan(revision);
    expect(pathIsAsKept(kept(), bench.state)).toBe(true);
    bench.dispatch({ kind: 'undo' });
    expect(writeSetting(bench.state.setting)).toBe(writeSetting(changed));
    bench.dispatch({ kind: 'redo' });
    expect(value('s2', 'emitterOhms')).toBe(10);
    expect(undoDepth(), 'four changes and the restoring').toBe(5);
  });

  it(`is one of at most ${mostKept} of its view, and dropped by itself`, () => {
    const { bench } = benchWithKept();
    for (let more = 0; more < mostKept; more += 1) bench.dispatch({ kind: 'keep-figure', view: numbered.id, figure: drawn, keptAt: '2026-11-26 21:06' });
    expect(bench.state.session.kept).toHaveLength(mostKept);
    expect(bench.state.live.message).toMatchObject({ text: `${mostKept} figures of this view are kept; drop one to keep another.`, urgent: true });
    bench.dispatch({ kind: 'keep-figure', view: chosen.id === numbered.id ? figureViews.find(({ id }) => id !== numbered.id)!.id : chosen.id, figure: drawn, keptAt: '2026-11-26 21:07' });
    expect(bench.state.session.kept, 'another view has room of its own').toHaveLength(mostKept + 1);
    expect(new Set(bench.state.session.kept.map(({ id }) => id)).size).toBe(mostKept + 1);
    bench.dispatch({ kind: 'drop-kept', id: '3' });
    expect(bench.state.session.kept.map(({ id }) => id)).toEqual(['1', '2', '4', '5', '6', '7']);
    bench.dispatch({ kind: 'keep-figure', view: numbered.id, figure: drawn, keptAt: '2026-11-26 21:08' });
    expect(bench.state.session.kept.at(-1)!.id).toBe('8');
  });
});

describe('figures between visits', () => {
  afterEach(() => void vi.restoreAllMocks());

  it('come back open, with their values, scope and what was kept; curves to seven digits, gaps as gaps', () => {
    const { bench, set } = benchWithKept();
    bench.dispatch({ kind: 'figure-value', view: numbered.id, parameter: number.id, value: inside, phase: 'end' });
    bench.dispatch({ kind: 'figure-scope', scope: 'stage' });
    set('end', 22);
    const { state } = restoreAutosave(writeAutosave(bench.state, bench.frozen), loops, writeKept(bench.state.session.kept));
    expect(state.session.figures).toEqual(bench.state.session.figures);
    const [kept] = state.session.kept;
    const { figure, setting, ...rest } = bench.state.session.kept[0]!;
    expect(kept).toMatchObject(rest);
    expect(writeSetting(kept!.setting)).toBe(writeSetting(setting));
    expect(keptName(kept!, state)).toBe(keptName(bench.state.session.kept[0]!, bench.state));
    const [trace] = kept!.figure.panels[0]!.traces;
    expect(Array.from(trace!.x)).toEqual([-60, 0, 30]);
    expect(Array.from(trace!.y)).toEqual([-120.1235, NaN, -40]);
    expect(trace).toMatchObject({ id: 'H2', order: 2, role: 'main', drawn: 'line', axis: 'left' });
    expect(kept!.figure).toMatchObject({ title: figure.title, caption: figure.caption });
  });

  it('give way where they cannot be read: one by one, and of views that are no more', () => {
    const warn = vi.spyOn(console, 'warn').mockImplementation(() => undefined);
    const { bench } = benchWithKept();
    bench.dispatch({ kind: 'keep-figure', view: numbered.id, figure: drawn, keptAt: '2026-11-26 21:06' });
    const text = writeKept(bench.state.session.kept);
    expect(readKept(text)).toHaveLength(2);
    for (const bad of ['', '{', 'null', '[]', '{}', text.replace('"version":1', '"version":2')]) expect(readKept(bad), bad.slice(0, 20)).toEqual([]);
    const damage = (from: string, to: string) => readKept(text.replace(from, to)).map(({ id }) => id);
    expect(damage(`"view":"${numbered.id}"`, '"view":"gone"')).toEqual(['2']);
    expect(damage('"x":[-60,0,30]', '"x":[-60,0]')).toEqual(['2']);
    expect(damage('"x":[-60,0,30]', '"x":[-60,"0",30]')).toEqual(['2']);
    expect(damage('"from":-60', '"from":null')).toEqual(['2']);
    expect(damage('"role":"main"', '"role":"mains"')).toEqual(['2']);
    expect(damage('push-pull', 'pull-push')).toEqual(['2']);
    expect(damage('"id":"2"', '"id":"1"'), 'one of each number').toEqual(['1']);
    expect(warn.mock.calls.length).toBeGreaterThanOrEqual(7);
    const opening = makeBench().bench.state;
    const session = (figures: unknown) => restoreAutosave(writeAutosave({ ...opening, session: { ...opening.session, figures: figures as never } }, opening.setting), loops).state.session.figures;
    expect(session({ open: 'gone', last: 7, scope: 'all', values: { gone: { a: 1 }, [numbered.id]: { [number.id]: 'loud', nothing: 3 } } })).toEqual({ open: null, last: null, scope: 'path', values: { [numbered.id]: {} } });
    expect(session([])).toEqual(opening.session.figures);
  });
});
