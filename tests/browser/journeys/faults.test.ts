import { describe, expect, it, onTestFinished, vi } from 'vitest';
import { openingSetting, writeSetting } from '../../../dsp/setting/index.ts';
import type { MountedPage } from '../page/support.ts';
import { allDeep, deep, mountPage, mountPlayingPage, press, wait } from '../page/support.ts';
import { mounted, OutputTap, rateHz, said, within } from './support.ts';

/** What a stranger might drop on the page. */
function strangeFiles(): Record<string, File> {
  const good = writeSetting(openingSetting());
  const named = (content: BlobPart, name: string, type = 'application/json') => new File([content], name, { type });
  const deepArray = `${'['.repeat(50_000)}${']'.repeat(50_000)}`;
  return {
    nothing: named('', 'empty.json'),
    'broken bytes': named(new Uint8Array([0xff, 0xfe, 0x00, 0xd8, 0x80]), 'bytes.json'),
    'half a file': named(good.slice(0, good.length / 2), 'half.json'),
    'another format': named('{"format":"stagebench/circuit","version":1}', 'circuit.json'),
    'a later version': named(good.replace(/"version": \d+/, '"version": 99'), 'later.json'),
    'a prototype': named(good.replace('{', '{"__proto__":{"polluted":true},'), 'prototype.json'),
    'an unknown stage': named(good.replaceAll('push-pull', 'push-push'), 'stage.json'),
    'a value too large': named(good.replace(/("emitterOhms": )[\d.]+/, '$11e12'), 'value.json'),
    'not a number': named(good.replace(/("emitterOhms": )[\d.]+/, '$1NaN'), 'nan.json'),
    'a deep nest': named(deepArray, 'deep.json'),
    script: named('<script>document.title = "taken"</script>', '<img src=x onerror="document.title=1">.json'),
    'a long name': named('{}', `${'long '.repeat(400)}.json`),
    'a large one': named(' '.repeat(3_000_000), 'large.json'),
  };
}

/** Drops or picks a file, and waits for what the page says to it. */
async function given(page: MountedPage, file: File, way: 'drop' | 'picker', what: string): Promise<void> {
  const serial = page.bench.state.live.message?.serial;
  const transfer = new DataTransfer();
  transfer.items.add(file);
  if (way === 'drop') document.body.dispatchEvent(new DragEvent('drop', { dataTransfer: transfer, bubbles: true, cancelable: true }));
  else {
    const picker = deep<HTMLInputElement>('#picker');
    picker.files = transfer.files;
    picker.dispatchEvent(new Event('change'));
  }
  await vi.waitFor(() => expect(page.bench.state.live.message?.serial, `${what} by ${way}`).not.toBe(serial), within);
}

describe('J8: a hostile or foreign file', () => {
  it('changes nothing, by drop or by picker, and is refused in one sentence', async () => {
    const page = await mounted(mountPage());
    const before = page.bench.state;
    const { title } = document;
    for (const [what, file] of Object.entries(strangeFiles())) {
      for (const way of ['drop', 'picker'] as const) {
        await given(page, file, way, what);
        const { message } = page.bench.state.live;
        expect(message?.urgent, what).toBe(true);
        expect(message?.text, what).toMatch(/^[^\n]{1,80} was not thawed[.:] ?[^\n]{10,310}$/);
        expect(page.bench.state.setting, what).toBe(before.setting);
        expect(page.bench.state.session, what).toBe(before.session);
        expect(page.bench.state.live, what).toMatchObject({ canUndo: false, changedSinceFrozen: false, revision: before.live.revision });
      }
    }
    await vi.waitFor(() => expect(said().alert).toContain('was not thawed'), within);
    expect(allDeep('script, img', page.root.shadowRoot!)).toEqual([]);
    expect(document.title).toBe(title);
    expect(({} as { polluted?: boolean }).polluted).toBeUndefined();
    expect(page.root.shadowRoot!.textContent).not.toContain('undefined');
    expect(document.documentElement.scrollWidth - document.documentElement.clientWidth, 'nothing scrolls sideways').toBe(0);
  });
});

describe('a sound file that is cut short', () => {
  it('is refused in one sentence, and the loop on the bench stays', async () => {
    const page = await mounted(mountPlayingPage());
    await vi.waitFor(() => expect(page.readings.loopSeconds).toBeGreaterThan(1), within);
    const { loop } = page.bench.state.session;
    const file = new File([new Uint8Array([82, 73, 70, 70, 255, 0, 0, 0, 87, 65, 86, 69])], 'clarinet.wav', { type: 'audio/wav' });
    for (const way of ['drop', 'picker'] as const) {
      await given(page, file, way, way);
      expect(page.bench.state.live.message).toMatchObject({ urgent: true, text: expect.stringMatching(/^clarinet\.wav was not opened: [^\n]{10,310} What is on the bench stays\.$/) as string });
      expect(page.bench.state.session.loop).toBe(loop);
    }
  });
});

/** Every port that was handed a processor's first message: what an error of the audio thread is provoked through. */
function processorPorts(): MessagePort[] {
  const ports: MessagePort[] = [];
  const original = MessagePort.prototype.postMessage as (this: MessagePort, ...all: unknown[]) => void;
  MessagePort.prototype.postMessage = function post(this: MessagePort, ...all: unknown[]) {
    if ((all[0] as { kind?: string } | null)?.kind === 'connect') ports.push(this);
    original.apply(this, all);
  } as typeof MessagePort.prototype.postMessage;
  onTestFinished(() => { MessagePort.prototype.postMessage = original as typeof MessagePort.prototype.postMessage; });
  return ports;
}

describe('J9: a fault', () => {
  const alerts = (): string => said().alert;

  async function playing(tap: OutputTap): Promise<MountedPage> {
    const page = await mounted(mountPlayingPage());
    await vi.waitFor(() => expect(page.bench.state.live.harmonics?.figures.length).toBe(9), within);
    await vi.waitFor(() => expect(page.readings.loopSeconds).toBeGreaterThan(1), within);
    press(' ');
    await tap.untilSounding();
    return page;
  }

  it('of the processor is named on the page; the last good circuit plays on from a processor built anew; a second at once ends in silence, and Play begins again', async () => {
    const ports = processorPorts();
    const tap = new OutputTap();
    const page = await playing(tap);
    const live = () => page.bench.state.live;
    page.bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'emitterOhms', value: 12, phase: 'step' });
    const { revision } = live();
    await vi.waitFor(() => expect(live().soundingRevision).toBe(revision), within);
    page.bench.dispatch({ kind: 'seek', seconds: 4 });
    await vi.waitFor(() => expect(page.readings.positionSeconds).toBeGreaterThan(4), within);
    const position = page.readings.positionSeconds;
    const before = page.bench.state.setting;

    // A loop without samples: the processor cannot take it.
    ports[0]!.postMessage({ kind: 'programme', channels: null, region: null, frame: 0 });
    await vi.waitFor(() => expect(live().engine.kind).toBe('rebuilt'), within);
    await vi.waitFor(() => expect(alerts()).toMatch(/^The audio processor stopped \(.+\) and was built anew; the last good circuit plays\.$/), within);
    expect(ports).toHaveLength(2);
    await tap.untilSounding();
    expect(live().playing).toBe(true);
    expect(page.bench.state.setting.path).toBe(before.path);
    // It goes on where it stopped: by the new processor's own log, not after playing up to there again.
    await vi.waitFor(() => {
      const began = page.root.engine.playingLog()?.changes.find(({ kind }) => kind === 'position');
      expect(began).toMatchObject({ frame: 0 });
      expect((began as { positionFrame: number }).positionFrame).toBeGreaterThanOrEqual(Math.round(position * rateHz));
    }, within);
    // Values are heard as before.
    page.bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'emitterOhms', value: 15, phase: 'step' });
    const next = live().revision;
    await vi.waitFor(() => expect(live().soundingRevision).toBe(next), within);

    ports[1]!.postMessage({ kind: 'programme', channels: null, region: null, frame: 0 });
    await vi.waitFor(() => expect(['failed', 'rebuilt']).toContain(live().engine.kind), within);
    if (live().engine.kind === 'failed') {
      await vi.waitFor(() => expect(alerts()).toMatch(/^The audio processor stopped twice \(.+\)\. Change a value, then press Play\.$/), within);
      expect(live().playing).toBe(false);
      press(' ');
    }
    await vi.waitFor(() => expect(['running', 'rebuilt']).toContain(live().engine.kind), within);
    await vi.waitFor(() => expect(Math.max(...page.readings.monitorPeakDb)).toBeGreaterThan(-80), within);
  });

  it('of a circuit strikes its stage through and says why beside it, and the last good one plays on', async () => {
    const tap = new OutputTap();
    const page = await playing(tap);
    const live = () => page.bench.state.live;
    const sounding = live().soundingRevision;
    // No table of values leads to an unsound circuit, so the answer of the worker is spoken here.
    page.bench.dispatch({ kind: 'fault', revision: live().revision, fault: { stageKey: 's2', sentence: 'stage 2: R1: expected ohms > 0, got -47', at: 'out' } });
    await page.settle();
    const strip = deep('path-strip').shadowRoot!;
    expect(allDeep('.switch', strip)[1]!.textContent).toContain('fault');
    expect((allDeep('stage-sign', strip)[1] as HTMLElement & { faulty: boolean }).faulty).toBe(true);
    expect(deep('stage-sheet').shadowRoot!.textContent).toContain('expected ohms > 0, got -47');
    expect(live()).toMatchObject({ playing: true, soundingRevision: sounding });
    await tap.untilSounding();
    await wait(50);
    // The next circuit that can be built takes the words away.
    page.bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'emitterOhms', value: 12, phase: 'step' });
    await vi.waitFor(() => expect(live().fault).toBeNull(), within);
    await page.settle();
    expect(allDeep('.switch', strip)[1]!.textContent).not.toContain('fault');
    press('Escape');
  });
});
