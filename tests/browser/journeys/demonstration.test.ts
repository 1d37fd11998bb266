import { afterEach, describe, expect, it } from 'vitest';
import { openingSetting } from '../../../dsp/setting/index.ts';
import { demonstrationPage } from '../../../ui/documents/demonstration/page.ts';
import { TwoWays, type Sounds } from '../../../ui/documents/demonstration/player/two-ways.ts';
import playerScript from '../../../ui/documents/demonstration/player/player.ts?script-text';
import { encodeBothWays } from '../../../ui/documents/demonstration/sound.ts';

const rateHz = 48_000;
const tone = (hertz: number): Float64Array => Float64Array.from({ length: rateHz }, (_, i) => 0.5 * Math.sin((2 * Math.PI * hertz * i) / rateHz));
const sounds: Sounds = { rateHz, in: [tone(440)], out: [tone(1320)] };

function page(): string {
  const sound = encodeBothWays({ kind: 'played', in: sounds.in, out: sounds.out, match: { kind: 'matched', inGainDb: 0, outGainDb: 0, residualDb: 0, inLufs: -10, outLufs: -10 }, trimDb: 0, drift: 0 }, rateHz);
  return demonstrationPage({
    title: 'two tones', words: 'One and the other.', date: null, setting: openingSetting(), onTrial: { kind: 'path' }, programme: { title: 'tones', region: null },
    harmonics: { frequencyHz: 200, levelDbu: 4, scope: 'path', measured: null }, sound, blindTrials: 10,
  }, playerScript);
}

const frames: HTMLIFrameElement[] = [];
afterEach(() => frames.splice(0).forEach((frame) => frame.remove()));

async function opened(): Promise<{ readonly inside: Document; readonly window: Window; readonly forbidden: string[] }> {
  const frame = document.createElement('iframe');
  frame.width = '320';
  frame.src = URL.createObjectURL(new Blob([page()], { type: 'text/html' }));
  frames.push(frame);
  document.body.append(frame);
  await new Promise((resolve) => { frame.onload = resolve; });
  const forbidden: string[] = [];
  const inside = frame.contentDocument!;
  inside.addEventListener('securitypolicyviolation', ({ violatedDirective }) => forbidden.push(violatedDirective));
  return { inside, window: frame.contentWindow!, forbidden };
}

const until = async (what: () => boolean): Promise<void> => { await expect.poll(what, { timeout: 20_000, interval: 20 }).toBe(true); };

describe('an exported demonstration, opened', () => {
  it('plays, switches, tests blind, falls silent at Escape, and reaches for nothing', async () => {
    const { inside, window, forbidden } = await opened();
    const at = (id: string) => inside.getElementById(id)!;
    const press = (key: string, target: EventTarget = inside.body) => {
      const init = { key, bubbles: true, cancelable: true };
      // Made together: a tap, however busy the machine is between them.
      const [down, up] = [new KeyboardEvent('keydown', init), new KeyboardEvent('keyup', init)];
      target.dispatchEvent(down);
      target.dispatchEvent(up);
    };
    expect(at('player').hidden).toBe(false);
    expect(at('level').textContent).toBe('−20 dB');
    press(' ');
    await until(() => at('play').textContent === 'Pause' && at('position-words').textContent !== '0.0 of 1.0 s');
    press('o');
    expect(at('way-out').getAttribute('aria-pressed')).toBe('true');
    press('c');
    expect(at('way-in').getAttribute('aria-pressed')).toBe('true');
    press('Escape');
    expect(at('play').textContent).toBe('Play');
    at('blind-begin').click();
    // Whatever is pressed, nothing but the token shows.
    expect(at('ways').hidden).toBe(true);
    for (let trial = 1; trial <= 10; trial += 1) {
      expect(at('blind-words').textContent).toBe(`Trial ${trial} of 10`);
      const before = at('player').outerHTML.replace(/>[\d.]+ of 1\.0 s<|value="[\d.]+"|>(Play|Pause)</g, '');
      press('x');
      press('a');
      expect(inside.querySelector('[data-token="A"]')!.getAttribute('aria-pressed')).toBe('true');
      expect(at('player').outerHTML.replace(/>[\d.]+ of 1\.0 s<|value="[\d.]+"|>(Play|Pause)</g, '')).toBe(before);
      expect(at('blind-result').textContent).toBe('');
      press('1');
    }
    expect(at('blind-result').textContent).toMatch(/^\d+ hits? in 10 trials; by guessing, as many or more come with a chance of /);
    press('Escape');
    (at('letters') as HTMLInputElement).checked = false;
    press('o');
    expect(at('way-in').getAttribute('aria-pressed')).toBe('true');
    expect(at('error').textContent).toBe('');
    expect(window.performance.getEntriesByType('resource')).toEqual([]);
    expect(forbidden).toEqual([]);
    expect(inside.documentElement.scrollWidth).toBeLessThanOrEqual(320);
  });

  it('begins 20 dB down, sounds as the way that was chosen, and is silent 100 ms after the end', async () => {
    const context = new AudioContext({ sampleRate: rateHz });
    const ear = new AnalyserNode(context, { fftSize: 2048 });
    ear.connect(context.destination);
    Object.defineProperty(context, 'destination', { value: ear });
    const ways = new TwoWays(sounds, -20, () => context);
    const heard = new Float32Array(2048);
    const look = (): Float32Array => {
      ear.getFloatTimeDomainData(heard);
      return heard;
    };
    const peak = (): number => look().reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
    const crossings = (): number => look().reduce((count, sample, i) => count + (i > 0 && sample * heard[i - 1]! < 0 ? 1 : 0), 0);
    await ways.play();
    // 0.5 less 20 dB is 0.05; a peak of a sampled tone lies within 1 % of it.
    await until(() => Math.abs(peak() - 0.05) < 0.001);
    // 2048 frames of 440 Hz cross zero 37 or 38 times, of 1320 Hz three times as often.
    expect(crossings()).toBeLessThan(45);
    ways.switchTo('out');
    await until(() => crossings() > 105);
    ways.dipTo('in');
    await until(() => crossings() < 45 && Math.abs(peak() - 0.05) < 0.001);
    ways.silence();
    const silencedAt = context.currentTime;
    await until(() => context.currentTime > silencedAt + 0.1);
    expect(peak()).toBe(0);
    expect(ways.playing).toBe(false);
    await context.close();
  });
});
