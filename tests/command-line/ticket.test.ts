import { readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { shownOrders } from '../../dsp/measure/index.ts';
import { excerptFile, freezeSetting, openingSetting, parseSetting, settingTextSha256, writeTicket } from '../../dsp/setting/index.ts';
import type { Measurement, Setting, Ticket } from '../../dsp/setting/index.ts';
import { measureAt } from '../../ui/command-line/measure-at.ts';
import { run, workFolder } from './support.ts';

const inFolder = workFolder();
const opening = openingSetting();
/** The push-pull stage alone: what is measured is soon measured. */
const withIdle = (quiescentAmperes: number): Setting => {
  const stage = opening.path.stages[1]!;
  return { ...opening, path: { ...opening.path, stages: [{ ...stage, key: 's1', values: { ...stage.values, quiescentAmperes } }] } };
};
const measured = (setting: Setting): Measurement => {
  const found = measureAt(setting, { frequencyHz: 200, levelDbu: 4 }, shownOrders);
  if (found.oscillates) throw new Error('expected a path that is at rest');
  return { frequencyHz: found.frequencyHz, levelDbu: 4, fundamentalDbu: Math.round(1000 * found.fundamentalDbu) / 1000, orders: found.harmonics.map(({ order, db }) => ({ order, db: Math.round(1000 * Math.max(-400, db)) / 1000 })) };
};
const poor = withIdle(0.00015);
const better = withIdle(0.012);
const rateHz = 48_000;
const ticket: Ticket = {
  title: 'village hall, first look',
  programme: { title: 'piano, decaying notes', identifier: 'piano', sha256: 'd'.repeat(64), rateHz, trimDb: -3 },
  region: { startSeconds: 1.25, endSeconds: 1.5 },
  excerptWav: excerptFile([new Float64Array(12_000).fill(0.25)], rateHz),
  entries: [
    { date: '2026-11-25', words: 'hard on the decay\u001b[31m', verdict: 'not yet', measurement: measured(poor), made: freezeSetting(poor) },
    { date: '2026-11-26', words: 'IQ raised', verdict: null, measurement: measured(better), made: freezeSetting(better) },
  ],
};

function write(name: string, text: string): string {
  const path = inFolder(name);
  writeFileSync(path, text);
  return path;
}
const file = write('hall.ticket.json', writeTicket(ticket));

describe('stagebench ticket', () => {
  it('prints what was said, and what changed value by value and order by order', async () => {
    const { exitCode, stdout } = await run('ticket', file);
    expect(exitCode).toBe(0);
    expect(stdout).toContain('village hall, first look\npiano, decaying notes, 1.25 to 1.50 s, at 48000 Hz, turned down by 3 dB\n');
    expect(stdout).toContain('carries an excerpt of 0.25 s');
    expect(stdout).toContain('\n1  2026-11-25  not yet\n   hard on the decay [31m\n');
    expect(stdout).toContain('\n2  2026-11-26  no verdict\n   IQ raised\n');
    expect(stdout).toContain('   1 push-pull IQ: was 150 µA, now 12 mA\n');
    const level = (order: number, of: Measurement) => `−${Math.abs(of.orders.find((each) => each.order === order)!.db).toFixed(1)} dB`;
    expect(stdout).toContain(`   H3: was ${level(3, measured(poor))}, now ${level(3, measured(better))}\n`);
    expect(stdout).toMatch(/ {3}H5 \(commonly judged harsh\): was −\d+\.\d dB, now /);
  });

  it('gives the same to machines', async () => {
    const { exitCode, stdout } = await run('ticket', file, '--json');
    expect(exitCode).toBe(0);
    const told = JSON.parse(stdout) as { passes: boolean; disagreements: string[]; excerptSeconds: number; entries: { movementDb: number; settingSha256: string; changes: object[]; orders: { order: number }[] }[] };
    expect(told).toMatchObject({ passes: true, disagreements: [], excerptSeconds: 0.25 });
    expect(told.entries.map(({ settingSha256 }) => settingSha256)).toEqual(ticket.entries.map(({ made }) => made.sha256));
    expect(told.entries[1]!.changes).toEqual([{ what: '1 push-pull IQ', was: '150 µA', now: '12 mA' }]);
    for (const { movementDb } of told.entries) expect(movementDb).toBeLessThanOrEqual(0.0005 + 1e-9);
    expect(told.entries[1]!.orders.map(({ order }) => order)).toContain(3);
  });

  it('writes a setting byte for byte and the excerpt as it is', async () => {
    const out = inFolder('second.setting.json');
    const wav = inFolder('moment.wav');
    expect(await run('ticket', file, '--setting', '2', '--out', out, '--excerpt', wav)).toMatchObject({ exitCode: 0, stdout: expect.stringContaining(`setting 2 written to ${out}\nexcerpt written to ${wav}\n`) as string });
    const text = readFileSync(out, 'utf8');
    expect(settingTextSha256(text)).toBe(ticket.entries[1]!.made.sha256);
    expect(parseSetting(text)).toEqual(better);
    expect(new Uint8Array(readFileSync(wav))).toEqual(ticket.excerptWav);
  });

  it('fails where a stored figure is not what its setting measures, or a checksum not of what it stands for', async () => {
    const [first, second] = ticket.entries as [Ticket['entries'][0], Ticket['entries'][0]];
    const figures = { ...first.measurement!, orders: first.measurement!.orders.map(({ order, db }) => ({ order, db: order === 3 ? db + 0.2 : db })) };
    const moved = await run('ticket', write('moved.json', writeTicket({ ...ticket, entries: [{ ...first, measurement: figures }, second] })));
    expect(moved.exitCode).toBe(1);
    expect(moved.stdout).toContain('MOVED: the figures stored are up to 0.20 dB from these');
    const changed = await run('ticket', write('changed.json', writeTicket(ticket).replace('hard on', 'soft on')));
    expect(changed.exitCode).toBe(1);
    expect(changed.stdout).toMatch(/DISAGREES checksum: expected sha256:.* the ticket was changed after it was written/);
  });

  it('refuses what is no ticket, an entry there is not, half a pair of options, an excerpt that is not there', async () => {
    const refused = async (sentence: RegExp, ...args: string[]) => expect(await run('ticket', ...args)).toMatchObject({ exitCode: 2, stdout: '', stderr: expect.stringMatching(sentence) as string });
    await refused(/^stagebench: .*bad\.json: file: expected a ticket in JSON, got text that is not JSON\n$/, write('bad.json', '{'));
    await refused(/^stagebench: .*cut\.json: .*\n$/, write('cut.json', writeTicket(ticket).slice(0, -300)));
    await refused(/^stagebench: --setting: expected a whole number from 1 to 2, got 3\n$/, file, '--setting', '3', '--out', inFolder('x.json'));
    await refused(/^stagebench: ticket: expected --setting N and --out FILE together, got --out alone\n$/, file, '--out', inFolder('x.json'));
    await refused(/^stagebench: .*plain\.json: expected an excerpt for --excerpt, got a ticket without one\n$/, write('plain.json', writeTicket({ ...ticket, excerptWav: null })), '--excerpt', inFolder('x.wav'));
    await refused(/^stagebench: .*none\.json: expected a file, found none\n$/, inFolder('none.json'));
  });
});
