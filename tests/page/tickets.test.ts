/** Notes that pin a moment, and tickets that carry it to and fro. */
import { describe, expect, it } from 'vitest';
import { maximumTextLength, parseSetting, parseTicket, settingSha256, writeSetting, writeTicket } from '../../dsp/setting/index.ts';
import type { SettingNote } from '../../dsp/setting/index.ts';
import { momentWords, pinOf } from '../../ui/page/pins.ts';
import { entryName, ticketOfNote } from '../../ui/page/reduce-ticket.ts';
import { harmonicsAt, makeBench } from './support.ts';

const region = { startSeconds: 1.25, endSeconds: 3.5 };

/** A bench on the piano, its region closed, its harmonics measured, and one note taken. */
function benchWithNote() {
  const made = makeBench();
  const { bench, set } = made;
  bench.dispatch({ kind: 'programme', programme: { title: 'piano, decaying notes', rateHz: 48_000, channels: 1, frames: 384_000, onBench: { startFrame: 0, endFrame: 384_000 }, encoding: 'pcm24', origin: 'demo', readBy: 'bench', sha256: 'd'.repeat(64), trimDb: 0 } });
  bench.dispatch({ kind: 'region', region });
  set('end', 12);
  bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(bench.state.live.revision, -62.0625) });
  bench.dispatch({ kind: 'note', text: ' hard on the decay ', verdict: 'not yet' });
  return { ...made, note: () => bench.state.setting.notes[0]! };
}

/** The file that the note would be handed on as. */
function ticketFile({ bench, note }: ReturnType<typeof benchWithNote>): string {
  return writeTicket(ticketOfNote(bench.state.setting.title, note(), null)!);
}

describe('a note', () => {
  it('pins what was heard, its region, the setting and what was measured of it', () => {
    const { bench, note } = benchWithNote();
    expect(note()).toMatchObject({ date: '2026-11-25', text: 'hard on the decay', verdict: 'not yet' });
    const { programme, region: pinned, measurement, made } = note().pin!;
    expect(programme).toEqual({ title: 'piano, decaying notes', identifier: 'piano', sha256: 'd'.repeat(64), rateHz: 48_000, trimDb: 0 });
    expect(pinned).toEqual(region);
    expect(measurement).toMatchObject({ frequencyHz: 200, levelDbu: 4 });
    expect(measurement!.orders[0]).toEqual({ order: 2, db: -62.062 });
    expect(measurement!.orders.at(-1), 'nothing above the floor').toEqual({ order: 9, db: -400 });
    expect(made.sha256).toBe(settingSha256({ ...bench.state.setting, notes: [] }));
    expect(momentWords(programme, pinned)).toBe('piano, decaying notes, 1.25 to 3.50 s');
  });

  it('pins no harmonics that belong to another path or to one stage alone', () => {
    const { bench, set } = benchWithNote();
    set('end', 22);
    expect(pinOf(bench.state).measurement).toBeNull();
    bench.dispatch({ kind: 'scope', scope: 'stage' });
    bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(bench.state.live.revision, -60, { scope: 'stage' }) });
    expect(bench.state.live.harmonics?.scope).toBe('stage');
    expect(pinOf(bench.state).measurement).toBeNull();
  });

  it('needs words or a verdict, can be dropped, and both can be undone', () => {
    const { bench, note } = benchWithNote();
    bench.dispatch({ kind: 'note', text: '  ' });
    expect(bench.state.setting.notes).toHaveLength(1);
    bench.dispatch({ kind: 'note', text: '', verdict: 'right' });
    expect(bench.state.setting.notes).toHaveLength(2);
    const first = note();
    bench.dispatch({ kind: 'drop-note', index: 0 });
    bench.dispatch({ kind: 'drop-note', index: 7 });
    expect(bench.state.setting.notes.map(({ verdict }) => verdict)).toEqual(['right']);
    bench.dispatch({ kind: 'undo' });
    expect(note()).toBe(first);
  });

  it('gives its setting back in one step that can be undone, and leaves title and notes', () => {
    const { bench, set, value, undoDepth } = benchWithNote();
    set('end', 22);
    bench.dispatch({ kind: 'remove-stage', stageKey: 's3' });
    bench.dispatch({ kind: 'rename', title: 'second try' });
    const changed = bench.state.setting;
    bench.dispatch({ kind: 'back-to-note', index: 0 });
    expect(value('s2', 'emitterOhms')).toBe(12);
    expect(bench.state.setting.path.stages).toHaveLength(3);
    expect(bench.state.setting).toMatchObject({ title: 'second try', notes: changed.notes });
    bench.dispatch({ kind: 'undo' });
    expect(writeSetting(bench.state.setting)).toBe(writeSetting(changed));
    bench.dispatch({ kind: 'redo' });
    expect(undoDepth(), 'dialled, noted, dialled, removed, renamed, gone back').toBe(6);
  });

  it('goes into the file and comes back from it', () => {
    const { bench, note } = benchWithNote();
    const read = parseSetting(writeSetting(bench.state.setting)).notes[0]!;
    expect(read.pin!.made.text).toBe(note().pin!.made.text);
    expect({ ...read, pin: null }).toEqual({ ...note(), pin: null });
  });

  it('is refused when the file would be longer than one that is read', () => {
    const { bench } = makeBench();
    const full = benchWithNote().note();
    const { setting } = bench.state;
    const text = writeSetting({ ...setting, notes: [full] });
    const room = maximumTextLength - writeSetting(setting).length;
    const taken = Math.floor(room / (text.length - writeSetting(setting).length)) - 1;
    const { bench: filled } = makeBench({ ...bench.state, setting: { ...setting, notes: new Array<SettingNote>(taken).fill(full) } });
    expect(() => parseSetting(writeSetting(filled.state.setting)), 'there is room yet').not.toThrow();
    filled.dispatch({ kind: 'note', text: 'x'.repeat(10_000) });
    expect(filled.state.live.message).toMatchObject({ text: 'This setting holds as many notes as a file may: freeze it, then drop some.', urgent: true });
    expect(filled.state.setting.notes).toHaveLength(taken);
    expect(taken).toBeGreaterThan(100);
  });
});

describe('a ticket', () => {
  it('puts the very setting on another bench as one step, and its words above', () => {
    const text = ticketFile(benchWithNote());
    const { bench, undoDepth } = makeBench();
    bench.dispatch({ kind: 'note', text: 'of my own' });
    const before = bench.state.setting;
    bench.dispatch({ kind: 'open-ticket', text, fileName: 'hall.ticket.json' });
    const { ticket } = parseTicket(text).entries[0]!.made.sha256 === settingSha256(bench.state.setting) ? bench.state.live : { ticket: null };
    expect(ticket).toMatchObject({ fileName: 'hall.ticket.json', entry: 0, sound: { kind: 'looking' } });
    expect(ticket!.ticket.entries[0]!).toMatchObject({ words: 'hard on the decay', verdict: 'not yet' });
    bench.dispatch({ kind: 'undo' });
    expect(bench.state.setting).toBe(before);
    expect(undoDepth()).toBe(1);
  });

  it('is answered with the setting on the bench, and the answer opened at the first bench again', () => {
    const first = benchWithNote();
    const second = makeBench();
    second.bench.dispatch({ kind: 'open-ticket', text: ticketFile(first), fileName: 'a.json' });
    second.set('end', 15);
    second.bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(second.bench.state.live.revision, -70) });
    second.bench.dispatch({ kind: 'answer-ticket', words: ' ', verdict: null });
    expect(second.bench.state.live.message).toMatchObject({ text: 'An answer needs words or a verdict.', urgent: true });
    second.bench.dispatch({ kind: 'answer-ticket', words: 'softer now?', verdict: null });
    const { ticket } = second.bench.state.live.ticket!;
    expect(ticket.entries).toHaveLength(2);
    expect(ticket.entries[1]).toMatchObject({ date: '2026-11-25', words: 'softer now?', verdict: null, measurement: { orders: [{ order: 2, db: -70 }, {}, {}, {}, {}, {}, {}, {}] } });
    first.bench.dispatch({ kind: 'open-ticket', text: writeTicket(ticket), fileName: 'b.json' });
    expect(first.value('s2', 'emitterOhms'), 'the newest').toBe(15);
    first.bench.dispatch({ kind: 'ticket-entry', index: 0 });
    expect(first.value('s2', 'emitterOhms')).toBe(12);
    expect(first.bench.state.live.ticket!.entry).toBe(0);
    expect([0, 1].map((index) => entryName(ticket, index))).toEqual(['the note itself', 'answer 1 of 2026-11-25']);
    // There is no third.
    const { state } = first.bench;
    first.bench.dispatch({ kind: 'ticket-entry', index: 2 });
    expect(first.bench.state).toBe(state);
    first.bench.dispatch({ kind: 'close-ticket' });
    expect(first.bench.state.live.ticket).toBeNull();
    expect(first.value('s2', 'emitterOhms'), 'its setting stays').toBe(12);
  });

  it('that is damaged, or no ticket, changes nothing and says so in one sentence', () => {
    const text = ticketFile(benchWithNote());
    const { bench } = makeBench();
    for (const bad of ['', '{}', text.slice(0, -40), text.replace('hard on', 'soft on'), text.replace('push-pull', 'pull-push'), writeSetting(bench.state.setting)]) {
      const before = bench.state;
      bench.dispatch({ kind: 'open-ticket', text: bad, fileName: 'hall.json' });
      expect(bench.state.setting).toBe(before.setting);
      expect(bench.state.live.ticket).toBeNull();
      expect(bench.state.live.message, bad.slice(0, 30)).toMatchObject({ urgent: true, text: expect.stringMatching(/^hall\.json was not opened\. .{10,300}$/) as string });
    }
  });

  it('is not made of a note that pins nothing', () => {
    expect(ticketOfNote('x', { date: '2026-11-25', text: 'of a file of before' }, null)).toBeNull();
  });
});
