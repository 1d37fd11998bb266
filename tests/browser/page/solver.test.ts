/** What the margin says of the solver: rules chosen, and an engine without compiled code. */
import { afterEach, describe, expect, it } from 'vitest';
import { allDeep, deep, mountPage, mountPlayingPage } from './support.ts';
import type { MountedPage } from './support.ts';

let page: MountedPage | null = null;
const restoring: (() => void)[] = [];
afterEach(async () => {
  await page?.remove();
  page = null;
  for (const restore of restoring.splice(0)) restore();
});

/** The block headed "Solver" as its lines. */
function solverLines(): string[] {
  const block = allDeep('.block', deep('margin-column').shadowRoot!).find((element) => element.querySelector('h2')?.textContent === 'Solver')!;
  return [...block.querySelectorAll('.line, p')].map((line) => (line.children.length > 0 ? [...line.children].map(({ textContent }) => textContent).join(' ') : line.textContent!.trim()));
}

describe('the solver in the margin', () => {
  it('tells the rule of the open stage with its error, and none of a stage that is no circuit', async () => {
    page = await mountPage();
    const { bench } = page;
    const told = (openStageKey: string) => {
      bench.dispatch({ kind: 'open-stage', stageKey: openStageKey });
      return page!.settle().then(solverLines);
    };
    expect(await told('s2')).toContain('integrated as computing');
    const rules = [{ rule: 'T1', errorDb: 0.0004 }, { rule: 'T12', errorDb: 0.0312 }, null] as const;
    bench.dispatch({ kind: 'ruled', revision: bench.state.live.revision, rules });
    expect(bench.state.setting.rules).toEqual(rules);
    expect(await told('s2')).toEqual(expect.arrayContaining(['integrated as T12', 'error at 10 kHz 0.03 dB']));
    expect(await told('s1')).toEqual(expect.arrayContaining(['integrated as T1', 'error at 10 kHz under 0.001 dB']));
    expect((await told('s3')).join()).not.toContain('integrated as');
    // Another value: the rule may be another, too.
    bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'emitterOhms', value: 0.5, phase: 'step' });
    expect(bench.state.setting.rules).toBeNull();
  });

  it('leaves rules that belong to an older circuit', async () => {
    page = await mountPage();
    const { bench } = page;
    const { revision } = bench.state.live;
    bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'emitterOhms', value: 0.5, phase: 'step' });
    bench.dispatch({ kind: 'ruled', revision, rules: [null, null, null] });
    expect(bench.state.setting.rules).toBeNull();
  });
});

/** Workers and audio worklets made from now on have no WebAssembly. */
function takeWebAssemblyAway(): void {
  const away = URL.createObjectURL(new Blob(['delete globalThis.WebAssembly;'], { type: 'text/javascript' }));
  const { Worker: NativeWorker } = globalThis;
  globalThis.Worker = class extends NativeWorker {
    constructor(address: string | URL, options?: WorkerOptions) {
      const both = `import ${JSON.stringify(away)}; import ${JSON.stringify(new URL(address, location.href).href)};`;
      super(URL.createObjectURL(new Blob([both], { type: 'text/javascript' })), { ...options, type: 'module' });
    }
  };
  const { addModule } = AudioWorklet.prototype;
  AudioWorklet.prototype.addModule = async function addBoth(this: AudioWorklet, ...rest: Parameters<typeof addModule>) {
    await addModule.call(this, away);
    await addModule.apply(this, rest);
  };
  restoring.push(() => {
    globalThis.Worker = NativeWorker;
    AudioWorklet.prototype.addModule = addModule;
  });
}

describe('a browser without WebAssembly', () => {
  it('says so in one sentence, and plays', async () => {
    takeWebAssemblyAway();
    page = await mountPlayingPage();
    const { bench, readings } = page;
    const within = { timeout: 30_000, interval: 50 };
    await expect.poll(() => solverLines().filter((line) => line.startsWith('This browser')), within)
      .toEqual(['This browser has no WebAssembly: the solver runs as plain loops, to the same bits but several times slower.']);
    await expect.poll(() => bench.state.live.harmonics?.figures.length, within).toBe(9);
    bench.dispatch({ kind: 'play' });
    await expect.poll(() => bench.state.live.engine.kind, within).toBe('running');
    await expect.poll(() => readings.monitorPeakDb[0]! > -60, within).toBe(true);
  });

  it('is not what this one is', async () => {
    page = await mountPlayingPage();
    await expect.poll(() => page!.bench.state.live.harmonics?.figures.length, { timeout: 30_000 }).toBe(9);
    expect(page.bench.state.live.loopsBecause).toBeNull();
    expect(solverLines().join()).not.toContain('WebAssembly');
  });
});
