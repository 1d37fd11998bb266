/** Where a ticket's moment is had from, and what is said where it is not. */
import { describe, expect, it } from 'vitest';
import { excerptFile, freezeSetting, openingSetting, writeTicket } from '../../dsp/setting/index.ts';
import type { HeardProgramme, Ticket } from '../../dsp/setting/index.ts';
import { sha256 } from '../../dsp/math/index.ts';
import { Tickets } from '../../ui/page/engine/tickets.ts';
import type { Action, ProgrammeFacts } from '../../ui/page/state.ts';
import { excerptOffer, excerptWords } from '../../ui/page/ticket-excerpt.ts';
import { loops, makeBench } from './support.ts';

const region = { startSeconds: 1.25, endSeconds: 3.5 };
const facts = (title: string, hash: string, change: Partial<ProgrammeFacts> = {}): ProgrammeFacts =>
  ({ title, rateHz: 48_000, channels: 1, frames: 480_000, onBench: { startFrame: 0, endFrame: 480_000 }, encoding: 'pcm24', origin: 'demo', readBy: 'bench', sha256: hash, trimDb: 0, ...change });
const piano = 'd'.repeat(64);
const own = 'e'.repeat(64);
const ownId = `file:${own.slice(0, 16)}`;
const ofPiano: HeardProgramme = { title: 'piano, decaying notes', identifier: 'piano', sha256: piano, rateHz: 48_000, trimDb: 0 };
const ofOwn: HeardProgramme = { title: 'rehearsal.wav', identifier: ownId, sha256: own, rateHz: 48_000, trimDb: -3 };
const ticketOf = (programme: HeardProgramme | null, excerptWav: Uint8Array | null = null): string => {
  const ticket: Ticket = { title: 'hall', programme, region, excerptWav, entries: [{ date: '2026-11-26', words: 'hard', verdict: 'not yet', measurement: null, made: freezeSetting(openingSetting()) }] };
  return writeTicket(ticket);
};

function benchWithTickets() {
  const made = makeBench();
  const { bench } = made;
  const asked: Action[] = [];
  const tickets = new Tickets({ dispatch: (action) => bench.dispatch(action), state: () => bench.state, programme: () => null }, loops);
  bench.subscribe((before, after, action) => {
    asked.push(action);
    tickets.follow(before, after, action);
  });
  const open = (text: string) => bench.dispatch({ kind: 'open-ticket', text, fileName: 'hall.json' });
  return { ...made, asked, open, sound: () => bench.state.live.ticket!.sound };
}

describe('the moment of a ticket', () => {
  it('is had at once where its loop is on the bench', () => {
    const { bench, open, sound } = benchWithTickets();
    bench.dispatch({ kind: 'programme', programme: facts('piano, decaying notes', piano) });
    open(ticketOf(ofPiano));
    expect(sound()).toEqual({ kind: 'there' });
    expect(bench.state.session).toMatchObject({ loop: 'piano', region });
  });

  it('is had again after a reload, the setting left as it was saved', () => {
    const { bench, sound } = benchWithTickets();
    bench.dispatch({ kind: 'programme', programme: facts('piano, decaying notes', piano) });
    const { setting } = bench.state;
    const text = ticketOf(ofPiano);
    for (const stored of [null, 'ticket', { text }, { text: text.slice(0, -9), fileName: 'hall.json', entry: 0 }, { text, fileName: 'hall.json', entry: 1 }]) {
      bench.dispatch({ kind: 'ticket-restored', stored });
      expect(bench.state.live.ticket, JSON.stringify(stored).slice(0, 60)).toBeNull();
    }
    bench.dispatch({ kind: 'ticket-restored', stored: { text, fileName: 'hall.json', entry: 0 } });
    expect(bench.state.live.ticket).toMatchObject({ fileName: 'hall.json', entry: 0 });
    expect(sound()).toEqual({ kind: 'there' });
    expect(bench.state.setting).toBe(setting);
    expect(bench.state.live.canUndo).toBe(false);
  });

  it('is taken to once another loop has come', () => {
    const { bench, open, sound } = benchWithTickets();
    bench.dispatch({ kind: 'programme', programme: facts('piano, decaying notes', piano) });
    open(ticketOf({ ...ofPiano, title: 'clarinet, bars 1–4', identifier: 'clarinet', sha256: 'c'.repeat(64) }));
    expect(bench.state.session.loop).toBe('clarinet');
    expect(sound()).toEqual({ kind: 'looking' });
    bench.dispatch({ kind: 'programme', programme: facts('clarinet, bars 1–4', 'c'.repeat(64)) });
    expect(sound()).toEqual({ kind: 'there' });
    expect(bench.state.session.region).toEqual(region);
  });

  it('is refused where another recording goes by that name', () => {
    const { bench, open, sound } = benchWithTickets();
    bench.dispatch({ kind: 'programme', programme: facts('piano, decaying notes', 'f'.repeat(64)) });
    open(ticketOf(ofPiano));
    expect(sound()).toMatchObject({ kind: 'missing', sentence: expect.stringMatching(/^This bench has another recording by the name of piano, decaying notes/) as string });
    expect(bench.state.session.region).toBeNull();
  });

  it('of a file that is not here is asked for by name, and taken to when the file comes', () => {
    const { bench, open, sound } = benchWithTickets();
    bench.dispatch({ kind: 'programme', programme: facts('piano, decaying notes', piano) });
    open(ticketOf(ofOwn));
    expect(sound()).toMatchObject({ kind: 'missing', sentence: expect.stringContaining('rehearsal.wav, which is not here') as string });
    expect(bench.state.session.loop).toBe('piano');
    bench.dispatch({ kind: 'loop', loop: ownId });
    bench.dispatch({ kind: 'programme', programme: facts('rehearsal.wav', own, { origin: 'own' }) });
    expect(sound()).toEqual({ kind: 'there' });
    expect(bench.state.session.region).toEqual(region);
    expect(bench.state.live.material.trimDb).toBe(-3);
  });

  it('is heard as the excerpt that came with it', () => {
    const { bench, open, sound, asked } = benchWithTickets();
    const wav = excerptFile([new Float64Array(4800).fill(0.5)], 48_000);
    open(ticketOf(ofOwn, wav));
    const brought = asked.find((action) => action.kind === 'open-material');
    expect(brought).toMatchObject({ handle: null });
    expect(brought!.file.size).toBe(wav.length);
    const id = `file:${sha256(wav).slice(0, 16)}`;
    bench.dispatch({ kind: 'loop', loop: id });
    bench.dispatch({ kind: 'programme', programme: facts('excerpt', sha256(wav), { origin: 'own', frames: 4800 }) });
    expect(sound()).toEqual({ kind: 'excerpt' });
    expect(bench.state.session.region, 'all of it').toBeNull();
  });

  it('of a note is gone back to, setting and region', () => {
    const { bench, set, value } = benchWithTickets();
    bench.dispatch({ kind: 'programme', programme: facts('piano, decaying notes', piano) });
    bench.dispatch({ kind: 'region', region });
    bench.dispatch({ kind: 'note', text: 'here' });
    bench.dispatch({ kind: 'region', region: null });
    set('end', 22);
    bench.dispatch({ kind: 'back-to-note', index: 0 });
    expect(bench.state.session.region).toEqual(region);
    expect(value('s2', 'emitterOhms')).toBe(10);
  });
});

describe('an excerpt', () => {
  it('is offered of an own file that is on the bench, with its size, and no longer than half a minute', () => {
    const { bench } = makeBench();
    const pin = (programme: HeardProgramme | null, part = region) => ({ programme, region: part, measurement: null, made: freezeSetting(openingSetting()) });
    bench.dispatch({ kind: 'programme', programme: facts('piano, decaying notes', piano) });
    expect(excerptOffer(bench.state, pin(ofPiano)), 'everybody has it').toBeNull();
    expect(excerptOffer(bench.state, pin(ofOwn))).toMatchObject({ kind: 'refused' });
    bench.dispatch({ kind: 'loop', loop: ownId });
    bench.dispatch({ kind: 'programme', programme: facts('rehearsal.wav', own, { origin: 'own', trimDb: -3, channels: 2, frames: 48_000 * 60 }) });
    const offer = excerptOffer(bench.state, pin(ofOwn));
    expect(offer).toEqual({ kind: 'size', bytes: 44 + 3 * 2 * 108_000 });
    expect(excerptWords(648_044)).toBe('865 kB');
    expect(excerptWords(5e6)).toBe('6.7 MB');
    expect(excerptOffer(bench.state, pin(ofOwn, { startSeconds: 0, endSeconds: 31 }))).toEqual({ kind: 'refused', why: '30 s at most, and this region has 31.0 s' });
    expect(excerptOffer(bench.state, pin({ ...ofOwn, trimDb: 0 }))).toMatchObject({ kind: 'refused' });
  });
});
