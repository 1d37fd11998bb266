/** Files of the listener's own: picked, dropped, refused, remembered, and an hour of one. */
import { expect, it, vi } from 'vitest';
import { encodeWavHeader, encodeWholeWav } from '../../../dsp/recording/index.ts';
import type { MountedPage } from '../page/support.ts';
import { deep, mountPlayingPage, press, wait } from '../page/support.ts';
import { mounted, OutputTap, said, within } from '../journeys/support.ts';
import flacAddress from '../../recording/files/stereo24-level5.flac?url';

function wavFile(rateHz: number, seconds: number, peak: number, name: string): File {
  const samples = Float64Array.from({ length: Math.round(rateHz * seconds) }, (_, n) => peak * Math.sin((2 * Math.PI * 441 * n) / rateHz));
  return new File([encodeWholeWav({ encoding: 'pcm16', channelCount: 1, rateHz }, [samples], { clippedSamples: 0, notNumberSamples: 0 }) as Uint8Array<ArrayBuffer>], name);
}

/** An hour at 8 kHz that takes no room. */
function hourOfSilence(): File {
  const minute = new Blob([new Uint8Array(2 * 60 * 8000)]);
  const header = encodeWavHeader({ encoding: 'pcm16', channelCount: 1, rateHz: 8000 }, 3600 * 8000) as Uint8Array<ArrayBuffer>;
  return new File([header, ...Array.from({ length: 60 }, () => minute)], 'hour.wav');
}

/** A tone as the browser itself records it. */
async function recorded(seconds: number): Promise<File> {
  const context = new AudioContext({ sampleRate: 48_000 });
  const tone = new OscillatorNode(context);
  const end = new MediaStreamAudioDestinationNode(context);
  tone.connect(end);
  tone.start();
  const recorder = new MediaRecorder(end.stream, { mimeType: 'audio/webm;codecs=opus' });
  const pieces: Blob[] = [];
  recorder.addEventListener('dataavailable', ({ data }) => pieces.push(data));
  recorder.start();
  await wait(1000 * seconds);
  const stopped = new Promise((resolve) => { recorder.addEventListener('stop', resolve); });
  recorder.stop();
  await stopped;
  await context.close();
  return new File(pieces, 'recorded.webm', { type: 'audio/webm' });
}

function drop(file: File): void {
  const dataTransfer = new DataTransfer();
  dataTransfer.items.add(file);
  document.body.dispatchEvent(new DragEvent('drop', { dataTransfer, bubbles: true, cancelable: true }));
}

/** By "own file …" in the chooser, as in a browser that gives no handles. */
function pick(file: File): void {
  vi.stubGlobal('showOpenFilePicker', undefined);
  const click = vi.spyOn(HTMLInputElement.prototype, 'click').mockImplementationOnce(function choose(this: HTMLInputElement) {
    const transfer = new DataTransfer();
    transfer.items.add(file);
    this.files = transfer.files;
    this.dispatchEvent(new Event('change'));
  });
  const chooser = deep<HTMLSelectElement>('select[aria-label="Loop"]');
  chooser.value = '(own file)';
  chooser.dispatchEvent(new Event('change'));
  click.mockRestore();
  vi.unstubAllGlobals();
}

const onBench = async (page: MountedPage, title: string) => {
  await vi.waitFor(() => expect(page.bench.state.live.programme?.title).toBe(title), within);
  await page.settle();
};
const lines = () => deep('material-line').shadowRoot!.textContent!.replace(/\s+/g, ' ').trim();

it('plays a picked file at its own rate, takes a region by keys, remembers it; drops, refuses, and has an hour in parts', async () => {
  const page = await mounted(mountPlayingPage());
  const tap = new OutputTap();
  const { bench } = page;
  await vi.waitFor(() => expect(bench.state.live.programme).not.toBeNull(), within);

  // Picked: 44.1 kHz all through.
  pick(wavFile(44_100, 1, 0.05, 'tune.wav'));
  await onBench(page, 'tune.wav');
  const own = bench.state.session.loop;
  expect(own).toMatch(/^file:[0-9a-f]{16}$/);
  expect(bench.state.live.baseRateHz).toBe(44_100);
  expect(bench.state.setting.baseRateHz).toBe(44_100);
  bench.dispatch({ kind: 'play' });
  await vi.waitFor(() => expect(bench.state.live.engine.kind).toBe('running'), within);
  await vi.waitFor(() => expect(page.readings.monitorPeakDb[0]).toBeGreaterThan(-60), within);
  expect(tap.context!.sampleRate).toBe(44_100);
  await vi.waitFor(() => expect(lines()).toContain('File at 44.1 kHz, played at 44.1 kHz'), within);

  // Start and end by keys, to the sample.
  const surface = deep('#surface', deep('loop-line').shadowRoot!);
  surface.focus();
  const keys: [string, KeyboardEventInit?][] = [['Home'], ...Array.from({ length: 3 }, (): [string, KeyboardEventInit] => ['ArrowRight', { shiftKey: true }]), ['.'], ['End'], ['ArrowLeft', { shiftKey: true }], [',']];
  for (const [key, more] of keys) {
    press(key, more);
    await page.settle();
  }
  const region = { startSeconds: (3 * 441 + 1) / 44_100, endSeconds: (44_100 - 441 - 1) / 44_100 };
  expect(bench.state.session.region).toEqual(region);

  // Another loop at another rate: the sound goes on there.
  bench.dispatch({ kind: 'loop', loop: page.root.loops[0]!.identifier });
  await vi.waitFor(() => expect(bench.state.live.baseRateHz).toBe(48_000), within);
  expect(bench.state.session.region).toBeNull();
  await vi.waitFor(() => expect(bench.state.live.engine.kind).toBe('running'), within);
  expect(bench.state.live.playing).toBe(true);

  // Dropped: FLAC, read by the bench.
  drop(new File([await (await fetch(flacAddress)).blob()], 'clarinet.flac'));
  await onBench(page, 'clarinet.flac');
  expect(bench.state.live.programme).toMatchObject({ readBy: 'bench', origin: 'own', channels: 2, frames: 6000, encoding: 'pcm24' });

  // What the bench does not read the browser decodes.
  drop(await recorded(0.7));
  await onBench(page, 'recorded.webm');
  expect(bench.state.live.programme).toMatchObject({ readBy: 'browser', origin: 'own', rateHz: 48_000 });
  expect(bench.state.live.programme!.frames).toBeGreaterThan(0.4 * 48_000);
  expect(lines()).toMatch(/decoded by the browser/i);

  // Cut short: a sentence, and nothing changed.
  const loopBefore = bench.state.session.loop;
  const whole = wavFile(48_000, 0.5, 0.05, 'cut.wav');
  drop(new File([whole.slice(0, 20_000)], 'cut.wav'));
  await vi.waitFor(() => expect(said().alert).toBe('cut.wav was not opened: data chunk: expected 24000 frames, the file ends after 9978. What is on the bench stays.'), within);
  expect(bench.state.session.loop).toBe(loopBefore);
  drop(new File(['no sound at all'], 'letter.txt'));
  await vi.waitFor(() => expect(said().alert).toMatch(/^letter\.txt was not opened: it is no WAV, AIFF or FLAC file, and this browser cannot decode it/), within);

  // Picked again: the region as it was left.
  drop(wavFile(44_100, 1, 0.05, 'tune.wav'));
  await onBench(page, 'tune.wav');
  expect(bench.state.session).toMatchObject({ loop: own, region });
  bench.dispatch({ kind: 'silence' });

  // Too loud for the path: asked, lowered, and no longer asked.
  bench.dispatch({ kind: 'calibration', fullScaleDbu: 24 });
  drop(wavFile(48_000, 0.5, 0.99, 'loud.wav'));
  await onBench(page, 'loud.wav');
  await vi.waitFor(() => expect(lines()).toMatch(/This material peaks at −0\.1 dBFS = \+23\.9 dBu; .*Lower it by \d+\.\d dB\?/), within);
  deep<HTMLElement>('#trim button', deep('material-line').shadowRoot!).click();
  await vi.waitFor(() => expect(bench.state.live.programme!.trimDb).toBeLessThan(0), within);
  await page.settle();
  expect(lines()).toMatch(/Lowered by \d+\.\d dB before the path, in and out alike\./);

  // An hour: the page's thread is never held up.
  const longTasks: number[] = [];
  const observer = new PerformanceObserver((list) => longTasks.push(...list.getEntries().map(({ duration }) => duration)));
  observer.observe({ type: 'longtask' });
  drop(hourOfSilence());
  await onBench(page, 'hour.wav');
  observer.disconnect();
  expect(longTasks.filter((ms) => ms > 100)).toEqual([]);
  expect(bench.state.live.programme!.frames).toBe(3600 * 8000);
  expect(bench.state.live.baseRateHz).toBe(8000);
});
