/** The session's log: what is noticed, what becomes one line, what stays unwritten. */
import { describe, expect, it } from 'vitest';
import { settingSha256, writeSetting } from '../../dsp/setting/index.ts';
import { appendEntry, mostEntries, notice, recentEntries } from '../../ui/page/session-log.ts';
import type { GestureStart } from '../../ui/page/session-log.ts';
import { readStoredLog, sessionLogText, writeSessionLog } from '../../ui/page/session-log-text.ts';
import type { LogEntry } from '../../ui/page/session-log-state.ts';
import type { BenchState } from '../../ui/page/state.ts';
import { makeBench } from './support.ts';

/** A bench whose actions are written down, a second apart. */
function logged() {
  const made = makeBench();
  const { bench } = made;
  let log: readonly LogEntry[] = [];
  let gesture: GestureStart = null;
  let second = 0;
  bench.subscribe((before, after, action) => {
    second += 1;
    const noticed = notice(before, after, action, gesture);
    ({ gesture } = noticed);
    for (const line of noticed.lines) log = appendEntry(log, { at: `2026-11-26 20:${String(Math.floor(second / 60)).padStart(2, '0')}:${String(second % 60).padStart(2, '0')}`, ...line });
  });
  return { ...made, words: () => log.map(({ words }) => words), log: () => log, wait: (seconds: number) => { second += seconds; } };
}

describe('the session log', () => {
  it('writes one line a gesture: a drag, steps of a value, undo', () => {
    const { set, words, bench, wait } = logged();
    set('begin', 11);
    for (const to of [12, 15, 18]) set('move', to);
    set('end', 22);
    expect(words()).toEqual(['2 push-pull RE: was 10 Ω, now 22 Ω']);
    set('step', 24);
    set('step', 27);
    expect(words()).toEqual(['2 push-pull RE: was 10 Ω, now 27 Ω']);
    wait(60);
    set('step', 33);
    expect(words().at(-1)).toBe('2 push-pull RE: was 27 Ω, now 33 Ω');
    bench.dispatch({ kind: 'undo' });
    expect(words().at(-1)).toMatch(/^undone, 2 push-pull RE: was 33 Ω, now \d+ Ω$/);
    expect(words()).toHaveLength(3);
  });

  it('forgets a drag that was cancelled', () => {
    const { set, words } = logged();
    set('begin', 11);
    set('move', 15);
    set('cancel', 15);
    set('end', 10);
    expect(words()).toEqual([]);
  });

  it('tells switches of stages, a new name, settings as a whole, and what they were frozen as', () => {
    const { bench, words, log } = logged();
    bench.dispatch({ kind: 'stage-in-out', stageKey: 's1', inCircuit: false });
    bench.dispatch({ kind: 'rename', title: 'second try' });
    bench.dispatch({ kind: 'freeze' });
    const { setting } = bench.state;
    bench.dispatch({ kind: 'ready-path', id: 'rehearsal' });
    bench.dispatch({ kind: 'thaw', text: writeSetting(setting), fileName: 'second.json' });
    bench.dispatch({ kind: 'thaw', text: '{}', fileName: 'bad.json' });
    expect(words()).toEqual([
      '1 single-ended: was in circuit, now out of circuit', 'name: was village hall, first look, now second try', 'frozen as second-try.setting.json',
      expect.stringMatching(/^on the bench: rehearsal, harmonic shaping only \(\d+ differences\)$/), expect.stringMatching(/^thawed second try \(\d+ differences\)$/),
    ]);
    expect(log()[2]!.data).toEqual({ file: 'second-try.setting.json', settingSha256: settingSha256(setting) });
    expect(log()[4]!.data).toMatchObject({ file: 'second.json', settingSha256: settingSha256(setting) });
  });

  it('counts switches, and keeps the last of the regions that were dragged', () => {
    const { bench, words, log } = logged();
    for (const trialIn of [false, true, true, false]) bench.dispatch({ kind: 'switch', trialIn });
    for (const endSeconds of [2, 3, 4]) bench.dispatch({ kind: 'region', region: { startSeconds: 1, endSeconds } });
    bench.dispatch({ kind: 'switch', trialIn: true });
    expect(words()[0]).toBe('switched 3 times');
    expect(words()).toHaveLength(3);
    expect(log()[1]!.data).toEqual({ startSeconds: 1, endSeconds: 4 });
    expect(words()[2]).toBe('switched once');
  });

  it('tells what is on trial, what was rendered, and that a sitting began; what changed nothing it leaves out', () => {
    const { bench, words } = logged();
    bench.dispatch({ kind: 'on-trial', onTrial: { kind: 'stage', key: 's2' } });
    bench.dispatch({ kind: 'on-trial', onTrial: bench.state.session.onTrial });
    bench.dispatch({ kind: 'message', text: 'Rendered as hall.wav', urgent: false });
    expect(words()).toEqual(['on trial: 2 push-pull']);
    const rendering: BenchState = { ...bench.state, live: { ...bench.state.live, rendering: 0.9 } };
    expect(notice(rendering, bench.state, { kind: 'message', text: 'Rendered as hall.wav', urgent: false }, null).lines).toMatchObject([{ kind: 'rendered', words: 'rendered as hall.wav' }]);
    const sat: BenchState = { ...bench.state, live: { ...bench.state.live, long: { ...bench.state.live.long, sitting: { id: 'a1', heardSeconds: 0 } as never } } };
    const opened = { kind: 'sitting-open', id: 'a1' } as const;
    expect(notice(bench.state, sat, opened, null).lines).toEqual([{ kind: 'sitting', words: 'a sitting of a long listening begun', data: { listening: 'a1' } }]);
    expect(notice(sat, sat, opened, null).lines).toEqual([]);
  });

  it('has notes, tickets and answers with verdict and checksum', () => {
    const { bench, words, log } = logged();
    bench.dispatch({ kind: 'note', text: 'hard', verdict: 'not yet' });
    bench.dispatch({ kind: 'send-note', index: 0, withExcerpt: false });
    expect(words()).toEqual(['note, not yet: hard', 'ticket handed over of the note of 2026-11-25']);
    expect(log()[0]!.data).toEqual({ verdict: 'not yet', settingSha256: bench.state.setting.notes[0]!.pin!.made.sha256 });
  });

  it('writes nothing that would tell a listener which side is heard', () => {
    const { bench } = makeBench();
    const blind = (state: BenchState): BenchState => ({ ...state, live: { ...state.live, blind: { kind: 'running' } as never } });
    const sitting = (state: BenchState): BenchState => ({ ...state, live: { ...state.live, long: { ...state.live.long, sitting: { id: 'a', heardSeconds: 4 } as never } } });
    const before = bench.state;
    bench.dispatch({ kind: 'stage-in-out', stageKey: 's1', inCircuit: false });
    const after = bench.state;
    for (const conceal of [blind, sitting]) {
      for (const action of [{ kind: 'switch', trialIn: true }, { kind: 'stage-in-out', stageKey: 's1', inCircuit: false }, { kind: 'take-up', draft: 'I' }] as const) {
        expect(notice(conceal(before), conceal(after), action, null).lines).toEqual([]);
        expect(notice(before, conceal(after), action, null).lines, 'going in').toEqual([]);
        expect(notice(conceal(before), after, action, null).lines, 'coming out').toEqual([]);
      }
    }
    expect(notice(before, after, { kind: 'stage-in-out', stageKey: 's1', inCircuit: false }, null).lines).toHaveLength(1);
  });

  it('is bounded, and its last visit can be had by itself', () => {
    const entry = (index: number, kind: LogEntry['kind'] = 'note'): LogEntry => ({ at: '2026-11-26 20:00:00', kind, words: `${index}`, data: {} });
    let log: readonly LogEntry[] = [];
    for (let index = 0; index < mostEntries + 5; index += 1) log = appendEntry(log, entry(index));
    expect(log).toHaveLength(mostEntries);
    expect(log[0]!.words).toBe('5');
    expect(recentEntries([entry(1, 'opened'), entry(2), entry(3, 'opened'), entry(4)]).map(({ words }) => words)).toEqual(['3', '4']);
    expect(recentEntries([entry(1), entry(2)])).toHaveLength(2);
  });

  it('goes into a file of its own and into text by days; what is stored is read like a stranger’s', () => {
    const log: LogEntry[] = [
      { at: '2026-11-25 20:15:07', kind: 'opened', words: 'the bench was opened: hall', data: { settingSha256: 'a'.repeat(64) } },
      { at: '2026-11-26 09:00:00', kind: 'note', words: 'note:\nover two lines', data: { verdict: null } },
    ];
    expect(JSON.parse(writeSessionLog(log))).toEqual({ format: 'stagebench/session-log', version: 1, entries: log });
    expect(sessionLogText(log)).toBe('2026-11-25\n20:15:07  the bench was opened: hall\n\n2026-11-26\n09:00:00  note: over two lines\n');
    expect(readStoredLog(structuredClone(log))).toEqual(log);
    expect(readStoredLog([...log, null, { at: 'then', kind: 'note', words: '', data: {} }, { ...log[0], kind: 'gossip' }, { ...log[0], data: { a: {} } }])).toEqual(log);
    expect(readStoredLog(undefined)).toEqual([]);
  });
});
