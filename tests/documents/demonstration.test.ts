import { describe, expect, it } from 'vitest';
import { LoudnessMeter } from '../../dsp/listening/index.ts';
import { SeededRandom, sha256 } from '../../dsp/math/index.ts';
import { trialHarmonicsInSteps } from '../../dsp/measure/index.ts';
import { playBothWays } from '../../dsp/measure/loop/index.ts';
import { planPath, type OnTrial } from '../../dsp/path/index.ts';
import { parseWholeRecording } from '../../dsp/recording/index.ts';
import { parseBase64 } from '../../dsp/setting/base64.ts';
import { openingSetting, parseSetting, readySetting, settingSha256, writeSetting, type Setting } from '../../dsp/setting/index.ts';
import type { DemonstrationContent } from '../../ui/documents/demonstration/content.ts';
import { defaultWords } from '../../ui/documents/demonstration/default-words.ts';
import { demonstrationPage } from '../../ui/documents/demonstration/page.ts';
import playerScript from '../../ui/documents/demonstration/player/player.ts?script-text';
import { encodeBothWays, encodingFor, longestSeconds, refuseLength } from '../../ui/documents/demonstration/sound.ts';
import { installCompiledCode } from '../../ui/command-line/compiled-code.ts';
import { finished } from '../../ui/command-line/finished.ts';

installCompiledCode();

const rateHz = 48_000;

/** Decaying notes with a little noise, lopsided, about −20 dBFS: something that a path changes and that has one place in time. */
function loopOf(seconds: number, channels: 1 | 2): Float64Array[] {
  const random = new SeededRandom(61126);
  return Array.from({ length: channels }, (_, channel) => Float64Array.from({ length: Math.round(seconds * rateHz) }, (_unused, i) => {
    const t = (i / rateHz) % 0.31;
    return 0.35 * Math.exp(-9 * t) * (Math.sin(2 * Math.PI * (220 + 60 * channel) * t) + 0.4 * Math.sin(2 * Math.PI * 1870 * t)) + 0.004 * random.nextGaussian();
  }));
}

function contentOf(setting: Setting, onTrial: OnTrial, loop: readonly Float64Array[], change: Partial<DemonstrationContent> = {}): DemonstrationContent {
  const ways = finished(playBothWays(planPath(setting.path, rateHz, { onTrial }), loop));
  if (ways.kind !== 'played') throw new Error(ways.sentence);
  const harmonics = finished(trialHarmonicsInSteps({ path: setting.path, joints: null, baseRateHz: rateHz, onTrial, frequencyHz: 200, levelDbu: 4 }));
  return {
    title: 'village hall, first look', words: defaultWords(setting, onTrial, harmonics), date: null, setting, onTrial, programme: { title: 'seeded notes', region: null }, harmonics,
    sound: encodeBothWays(ways, rateHz), blindTrials: null, ...change,
  };
}

const inside = (page: string, id: string): string => new RegExp(`<script type="[a-z/]+" id="${id}">([^<]*)</script>`).exec(page)![1]!;
const soundOf = (page: string, id: string) => parseWholeRecording(parseBase64(inside(page, id), id)).channels;
const loudness = (channels: readonly Float64Array[]): number => {
  // Round once so that the filters have settled, as the loop does in the page.
  const meter = new LoudnessMeter(rateHz, channels.length);
  meter.push(channels, 0, channels[0]!.length);
  meter.restart();
  meter.push(channels, 0, channels[0]!.length);
  return meter.integratedLufs();
};

/** Correlation of two loops at a shift, going round. */
function correlation(a: Float64Array, b: Float64Array, shift: number): number {
  let sum = 0;
  for (let i = 0; i < a.length; i += 1) sum += a[i]! * b[(i + shift + b.length) % b.length]!;
  return sum;
}

/** At a factor of 2, which is as good a path to be aligned and costs a quarter. */
const atTwo = (setting: Setting): Setting => ({ ...setting, path: { ...setting.path, oversamplingFactor: 2 } });
const opening = atTwo(openingSetting());
/** No circuit: quick. */
const shaping = atTwo(readySetting('rehearsal'));
const loop = loopOf(1.5, 2);
const content = contentOf(opening, { kind: 'path' }, loop);
const page = demonstrationPage(content, playerScript);

describe('what a demonstration page holds', () => {
  // The opening path inverts: without its dry signal turned, the peak would be negative.
  it.each<[string, Setting, OnTrial]>([
    ['the whole path', opening, { kind: 'path' }],
    ['a stage that inverts', opening, { kind: 'stage', key: opening.path.stages[0]!.key }],
    ['a push-pull stage in the middle', opening, { kind: 'stage', key: opening.path.stages[1]!.key }],
  ])('%s: both ways aligned to the sample, of one polarity, equally loud within 0.1 dB as read back', (_name, setting, onTrial) => {
    const written = demonstrationPage(contentOf(setting, onTrial, loopOf(0.8, 1)), playerScript);
    const [inside0, outside0] = [soundOf(written, 'sound-in')[0]!, soundOf(written, 'sound-out')[0]!];
    expect(inside0.length).toBe(Math.round(0.8 * rateHz));
    expect(outside0.length).toBe(inside0.length);
    const shifts = Array.from({ length: 401 }, (_, k) => k - 200);
    const peak = shifts.reduce((best, shift) => (correlation(inside0, outside0, shift) > correlation(inside0, outside0, best) ? shift : best), shifts[0]!);
    expect(peak).toBe(0);
    const apartDb = loudness([inside0]) - loudness([outside0]);
    expect(!(Math.abs(apartDb) <= 0.1), `${apartDb} dB apart`).toBe(false);
  });

  it('goes round without a step: the sample after the end is the one before the start', () => {
    // Band-limited below 4 kHz but for noise 40 dB down, so neighbouring samples at the wrap differ no more than elsewhere.
    for (const id of ['sound-in', 'sound-out']) {
      for (const channel of soundOf(page, id)) {
        const steps = Array.from(channel, (sample, i) => Math.abs(sample - channel[(i + channel.length - 1) % channel.length]!));
        const atWrap = steps[0]!;
        const sorted = [...steps].sort((a, b) => a - b);
        expect(!(atWrap <= 2 * sorted.at(-2)!), `${id}: ${atWrap} at the wrap`).toBe(false);
      }
    }
    // The end of a round is what leads into its start: a path played from rest starts elsewhere.
    expect(content.sound.drift).toBeLessThan(0.01);
  });

  it('takes 24 bits while both ways stay small and 16 beyond, and refuses what is too long or too short', () => {
    expect(encodingFor(10 * rateHz, 2, rateHz)).toBe('pcm24');
    expect(encodingFor(60 * rateHz, 2, rateHz)).toBe('pcm16');
    expect(refuseLength(longestSeconds)).toBeNull();
    expect(refuseLength(longestSeconds + 0.1)).toMatch(/expected a region of at most 60 s, got 60\.1 s/);
    expect(refuseLength(0.3)).toMatch(/0\.4 s or more/);
  });

  it('turns both down alike where one would go beyond full scale', () => {
    const hot = finished(playBothWays(planPath(shaping.path, rateHz), loopOf(0.6, 1).map((channel) => channel.map((sample) => 4 * sample))));
    if (hot.kind !== 'played') throw new Error(hot.sentence);
    const sound = encodeBothWays(hot, rateHz);
    expect(hot.trimDb).toBeLessThan(0);
    const read = [sound.in, sound.out].map((file) => parseWholeRecording(file).channels);
    const peak = Math.max(...read.map(([channel]) => channel!.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0)));
    expect(peak).toBeGreaterThan(0.99);
    expect(Math.abs(loudness(read[0]!) - loudness(read[1]!))).toBeLessThan(0.1);
  });

  it('says why two ways cannot be made equal', () => {
    const silent = finished(playBothWays(planPath(shaping.path, rateHz), [new Float64Array(rateHz)]));
    expect(silent).toMatchObject({ kind: 'cannot-match', reason: 'in-silent' });
  });
});

describe('the page itself', () => {
  it('reaches for nothing: no address but its own data, and a policy that forbids everything else', () => {
    const addresses = [...page.matchAll(/(?:src|href|action|url\()\s*=?\s*["']?([^"'\s>)]{0,40})/g)].map(([, address]) => address!).filter((address) => /^[a-z]+:|^\/\//.test(address));
    expect(addresses).toEqual([expect.stringMatching(/^data:application\/json;base64,/)]);
    expect(page).not.toMatch(/<(link|img|iframe|object|embed|audio|video|source|base|form)\b/i);
    expect(playerScript).not.toMatch(/fetch\(|XMLHttpRequest|WebSocket|EventSource|sendBeacon|import\(|https?:/);
    expect(page).not.toMatch(/ style="/);
    const policy = /http-equiv="Content-Security-Policy" content="([^"]*)"/.exec(page)![1]!.replaceAll('&#39;', "'");
    const hashOf = (text: string) => `'sha256-${Buffer.from(sha256(new TextEncoder().encode(text)), 'hex').toString('base64')}'`;
    expect(policy).toBe(`default-src 'none'; script-src ${hashOf(playerScript)}; style-src ${hashOf(/<style>([\s\S]*?)<\/style>/.exec(page)![1]!)}; base-uri 'none'; form-action 'none'`);
  });

  it('lets no title, words, programme or setting become markup', () => {
    const hostile = '</script><script>alert(1)</script><img src=x onerror=alert(2)>"\'&\u0000 ]]> <!--';
    const written = demonstrationPage({
      ...content, title: hostile, words: `${hostile}\n\nsecond`, programme: { title: hostile, region: null }, setting: { ...opening, title: hostile, notes: [{ date: '2026-11-26', text: hostile }] },
    }, playerScript);
    expect(written.match(/<script/g)!.length).toBe(4);
    expect(written.match(/<\/script/g)!.length).toBe(4);
    expect(written).not.toMatch(/<img|<!--/);
    expect((JSON.parse(inside(written, 'facts')) as { title: string }).title).toBe(hostile);
  });

  it('holds the setting, to be thawed again, under the checksum it states', () => {
    const address = /href="data:application\/json;base64,([^"]*)"/.exec(page)![1]!;
    const text = new TextDecoder().decode(parseBase64(address, 'setting'));
    expect(text).toBe(writeSetting(opening));
    expect(writeSetting(parseSetting(text))).toBe(text);
    expect(page).toContain(settingSha256(opening));
    const facts = JSON.parse(inside(page, 'facts')) as { format: string; settingSha256: string; sound: { inSha256: string }; harmonics: { orders: unknown[] }; levelMatch: { residualDb: number } };
    expect(facts.format).toBe('stagebench/demonstration');
    expect(facts.settingSha256).toBe(settingSha256(opening));
    expect(facts.sound.inSha256).toBe(sha256(parseBase64(inside(page, 'sound-in'), 'in')));
    expect(facts.harmonics.orders.length).toBe(9);
    expect(Math.abs(facts.levelMatch.residualDb)).toBeLessThan(0.1);
  });

  it('is the same bytes for the same content, and differs with the date', () => {
    expect(demonstrationPage(content, playerScript)).toBe(page);
    expect(demonstrationPage({ ...content, date: '2026-11-26' }, playerScript)).not.toBe(page);
  });

  it('has a blind part only where one is asked for, and then says what it is worth', () => {
    expect(page).not.toContain('id="blind"');
    const blind = demonstrationPage({ ...content, blindTrials: 12 }, playerScript);
    expect(blind).toContain('Begin: 12 trials');
    expect(blind).toMatch(/whoever looks into it with the tools of a programmer can find out/);
  });

  it('cautions about hearing and powered equipment, and about valves where there are any', () => {
    expect(page).toMatch(/Begin quietly/);
    expect(page).toMatch(/start low, with monitors down/);
    expect(page).not.toMatch(/can kill/);
    const valve: Setting = { ...opening, path: { ...opening.path, stages: [{ ...opening.path.stages[0]!, stage: 'single-ended-valve', values: {} }] } };
    expect(demonstrationPage({ ...content, setting: valve }, playerScript)).toMatch(/can kill and stay on capacitors after switch-off/);
  });
});

describe('the explanation made of the path', () => {
  it('names stages, harmonics with their level and the match; the page adds what was not modelled', () => {
    const words = content.words.split('\n\n');
    expect(words[1]).toMatch(/goes through 3 stages: single-ended stage, bipolar; push-pull stage; /);
    expect(words[2]).toMatch(/With a tone of 200(\.\d)? Hz at \+4 dBu it adds harmonics.*second \d+ dB under the tone \(\d[\d.]* %\)/);
    expect(words[2]).toMatch(/commonly judged harsh \(common practice, no source\) the strongest is the (fifth|seventh|eighth|ninth|tenth)/);
    expect(words[3]).toMatch(/ITU-R BS\.1770/);
    // The page says that of itself, whatever the words are.
    expect(words).toHaveLength(4);
    expect(demonstrationPage(content, playerScript).match(/Not modelled: [^<]*noise \(it is switched off\)/g)).toHaveLength(1);
  });
});
