/** Hands, ears and eyes for the journeys: real pointers and media features by the browser's own protocol, and a tap on what is heard. */
import { cdp, userEvent } from 'vitest/browser';
import { expect, onTestFinished, vi } from 'vitest';
import { defaultValues, stageById } from '../../../dsp/stages/index.ts';
import type { NumberParameter } from '../../../dsp/stages/index.ts';
import { openingSetting, writeSetting } from '../../../dsp/setting/index.ts';
import type { Setting } from '../../../dsp/setting/index.ts';
import type { MountedPage } from '../page/support.ts';
import { allDeep, deep, focused, mountPlayingPage } from '../page/support.ts';

export const rateHz = 48_000;

/** Two noisy cores: nothing here is judged by how long it took, only by what came. */
export const within = { timeout: 30_000, interval: 20 };

interface Protocol {
  send(method: string, parameters?: object): Promise<unknown>;
}

export const protocol = (): Protocol => cdp() as unknown as Protocol;

/** The page stands in a frame that may be scaled; the protocol counts in the window's own pixels. */
function inWindow(x: number, y: number): { x: number; y: number } {
  const frame = window.frameElement!.getBoundingClientRect();
  const scale = frame.width / innerWidth;
  return { x: frame.left + x * scale, y: frame.top + y * scale };
}

export function middleOf(element: Element): { x: number; y: number } {
  const { left, right, top, bottom } = element.getBoundingClientRect();
  return { x: (left + right) / 2, y: (top + bottom) / 2 };
}

export const mouse = {
  async press(x: number, y: number): Promise<void> {
    await protocol().send('Input.dispatchMouseEvent', { type: 'mouseMoved', ...inWindow(x, y) });
    await protocol().send('Input.dispatchMouseEvent', { type: 'mousePressed', ...inWindow(x, y), button: 'left', buttons: 1, clickCount: 1 });
  },
  async move(x: number, y: number): Promise<void> {
    await protocol().send('Input.dispatchMouseEvent', { type: 'mouseMoved', ...inWindow(x, y), button: 'left', buttons: 1 });
  },
  async release(x: number, y: number): Promise<void> {
    await protocol().send('Input.dispatchMouseEvent', { type: 'mouseReleased', ...inWindow(x, y), button: 'left', clickCount: 1 });
  },
};

/** A finger that goes down, along the points, and up. The pointer is coarse until the test ends. */
export async function finger(points: readonly (readonly [x: number, y: number])[]): Promise<void> {
  const send = (type: string, at: readonly (readonly [number, number])[]) =>
    protocol().send('Input.dispatchTouchEvent', { type, touchPoints: at.map(([x, y]) => inWindow(x, y)) });
  await send('touchStart', points.slice(0, 1));
  for (const point of points.slice(1)) await send('touchMove', [point]);
  await send('touchEnd', []);
}

export async function coarsePointer(): Promise<void> {
  await protocol().send('Emulation.setTouchEmulationEnabled', { enabled: true, maxTouchPoints: 1 });
  onTestFinished(async () => { await protocol().send('Emulation.setTouchEmulationEnabled', { enabled: false }); });
}

/** A media feature as the system would set it, until the test ends. */
export async function emulate(name: string, value: string): Promise<void> {
  await protocol().send('Emulation.setEmulatedMedia', { features: [{ name, value }] });
  onTestFinished(async () => { await protocol().send('Emulation.setEmulatedMedia', { features: [] }); });
}

/** The browser's accessibility tree of the page under test. */
export async function accessibilityTree(): Promise<readonly AccessibleNode[]> {
  const { frameTree } = await protocol().send('Page.getFrameTree') as { frameTree: { childFrames?: { frame: { id: string; name?: string } }[] } };
  const frame = frameTree.childFrames?.find(({ frame: { name } }) => name === 'vitest-iframe') ?? frameTree.childFrames?.[0];
  if (!frame) throw new Error('the page under test: expected a frame of its own, found none');
  const { nodes } = await protocol().send('Accessibility.getFullAXTree', { frameId: frame.frame.id }) as { nodes: RawNode[] };
  return nodes.filter(({ ignored }) => !ignored).map(({ role, name, value, properties }) => ({
    role: role?.value ?? '', name: name?.value ?? '', value: value?.value,
    properties: Object.fromEntries((properties ?? []).map((property) => [property.name, property.value.value])),
  }));
}

interface RawNode {
  readonly ignored: boolean;
  readonly role?: { readonly value: string };
  readonly name?: { readonly value: string };
  readonly value?: { readonly value: unknown };
  readonly properties?: readonly { readonly name: string; readonly value: { readonly value?: unknown } }[];
}

export interface AccessibleNode {
  readonly role: string;
  readonly name: string;
  readonly value: unknown;
  readonly properties: Readonly<Record<string, unknown>>;
}

const tapSource = `
class Tap extends AudioWorkletProcessor {
  constructor() { super(); this.kept = new Float32Array(1024); this.filled = 0; }
  process([input]) {
    const left = input[0];
    for (let i = 0; i < 128; i += 1) this.kept[this.filled + i] = left ? left[i] : 0;
    this.filled += 128;
    if (this.filled === 1024) {
      this.port.postMessage({ endFrame: currentFrame + 128, samples: this.kept.slice() });
      this.filled = 0;
    }
    return true;
  }
}
registerProcessor('tap', Tap);`;

/** Everything the page sends to the loudspeakers, by frame of the audio clock. */
export class OutputTap {
  context: BaseAudioContext | null = null;
  /** What goes to the loudspeakers. */
  source: AudioNode | null = null;
  readonly #pieces: { readonly endFrame: number; readonly samples: Float32Array }[] = [];
  readonly #key: { frame: number; key: string }[] = [];

  /** Put in before Play; taken out when the test ends. */
  constructor() {
    const { prototype } = AudioNode;
    const original = prototype.connect as (this: AudioNode, ...rest: unknown[]) => unknown;
    const tapNode = (node: AudioNode) => {
      if (!(node.context instanceof AudioContext) || node.context === this.context) return;
      this.context = node.context;
      this.source = node;
      void this.#listen(node, (from, to) => original.call(from, to));
    };
    prototype.connect = function connect(this: AudioNode, ...rest: unknown[]) {
      const result = original.call(this, ...rest);
      if (rest[0] instanceof AudioDestinationNode) tapNode(this);
      return result;
    } as typeof prototype.connect;
    const note = ({ key }: KeyboardEvent) => this.#key.push({ key, frame: this.nowFrame });
    addEventListener('keydown', note, { capture: true });
    onTestFinished(() => {
      prototype.connect = original as typeof prototype.connect;
      removeEventListener('keydown', note, { capture: true });
    });
  }

  async #listen(source: AudioNode, connect: (from: AudioNode, to: AudioNode) => void): Promise<void> {
    const context = source.context as AudioContext;
    const address = URL.createObjectURL(new Blob([tapSource], { type: 'text/javascript' }));
    await context.audioWorklet.addModule(address);
    URL.revokeObjectURL(address);
    const node = new AudioWorkletNode(context, 'tap');
    node.port.onmessage = ({ data }: MessageEvent<{ endFrame: number; samples: Float32Array }>) => this.#pieces.push(data);
    connect(source, node);
    connect(node, context.destination);
  }

  /** The audio clock, in frames. */
  get nowFrame(): number {
    return this.context ? Math.round(this.context.currentTime * this.context.sampleRate) : 0;
  }

  /** Everything before this frame has been heard. */
  get endFrame(): number {
    return this.#pieces.at(-1)?.endFrame ?? 0;
  }

  /** Frame of the audio clock at which the key was last pressed. */
  pressedAt(key: string): number {
    const found = this.#key.findLast((press) => press.key === key);
    if (!found) throw new Error(`key ${key}: expected a press, saw none`);
    return found.frame;
  }

  /** Waits until what is wanted has been played, then gives it. */
  async samples(fromFrame: number, toFrame: number): Promise<Float64Array> {
    await vi.waitFor(() => { if (this.endFrame < toFrame) throw new Error(`heard up to frame ${this.endFrame}, waiting for ${toFrame}`); }, within);
    const wanted = new Float64Array(toFrame - fromFrame).fill(NaN);
    for (const { endFrame, samples } of this.#pieces) {
      const at = endFrame - samples.length - fromFrame;
      for (let i = Math.max(0, -at); i < samples.length && at + i < wanted.length; i += 1) wanted[at + i] = samples[i]!;
    }
    return wanted;
  }

  /** Waits until it sounds above `peak` and gives the frame at which it was seen to. */
  async untilSounding(peak = 1e-4): Promise<number> {
    const from = this.nowFrame;
    return vi.waitFor(() => {
      const piece = this.#pieces.findLast(({ endFrame, samples }) => endFrame > from && samples.some((sample) => Math.abs(sample) > peak));
      if (!piece) throw new Error(`nothing above ${peak} yet`);
      return piece.endFrame;
    }, within);
  }
}

export function peakOf(samples: Float64Array): number {
  return samples.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
}

/** A path of the stages named, all at their defaults; the title tells tests apart. */
export function settingOf(stages: readonly string[], title = 'journey'): Setting {
  const opening = openingSetting();
  return {
    ...opening, title, levelMatch: null,
    path: { ...opening.path, stages: stages.map((stage, index) => ({ key: `s${index + 1}`, stage, inCircuit: true, reversed: false, joined: false, values: { ...defaultValues(stageById(stage)) } })) },
  };
}

/** File of a path that cannot be mistaken: a broad bell of 15 dB in the treble. */
function brightTreble(): string {
  const setting = settingOf(['equaliser']);
  const [stage] = setting.path.stages;
  const values = { ...stage!.values, section1Kind: 'bell', section1Hz: 2000, section1Db: 15, section1Quality: 0.7 };
  return writeSetting({ ...setting, path: { ...setting.path, stages: [{ ...stage!, values }] } });
}

/** Treble against everything, of one turn of the region, wherever it begins. */
export function brightness(samples: Float64Array): number {
  let steps = 0;
  let all = 0;
  for (let i = 1; i < samples.length; i += 1) {
    steps += (samples[i]! - samples[i - 1]!) ** 2;
    all += samples[i]! ** 2;
  }
  return 10 * Math.log10(steps / all);
}

/** A page with a path that cannot be mistaken, and the tap on what it plays. */
export interface Bright {
  readonly page: MountedPage;
  readonly tap: OutputTap;
  readonly regionSeconds: number;
}

/** In front of 0.4 s of its loop, matched. */
export async function openBright(): Promise<Bright> {
  const regionSeconds = 0.4;
  const tap = new OutputTap();
  const page = await mounted(mountPlayingPage());
  page.bench.dispatch({ kind: 'thaw', text: brightTreble(), fileName: 'bright.json' });
  page.bench.dispatch({ kind: 'region', region: { startSeconds: 0.2, endSeconds: 0.2 + regionSeconds } });
  await vi.waitFor(() => expect(page.readings.loopSeconds).toBeGreaterThan(1), within);
  await vi.waitFor(() => expect(page.bench.state.live.match.kind).toBe('matched'), within);
  return { page, tap, regionSeconds };
}

/** The editor of one value of the open stage, wherever it stands. */
export function editorOf(parameter: string): HTMLElement {
  return deep(`value-editor[data-parameter="${parameter}"]`, deep('stage-sheet').shadowRoot!);
}

export function spinOf(parameter: string): HTMLElement {
  return deep('[role="spinbutton"]', editorOf(parameter).shadowRoot!);
}

export function numberParameter(stage: string, id: string): NumberParameter {
  const found = stageById(stage).parameters.find((parameter) => parameter.id === id);
  if (found?.kind !== 'number') throw new Error(`${stage}: expected a number called ${id}`);
  return found;
}

export function valueOf(page: MountedPage, stageKey: string, parameter: string): number | string {
  return page.bench.state.setting.path.stages.find(({ key }) => key === stageKey)!.values[parameter]!;
}

/** What the page says at its foot. */
export function said(): { readonly status: string; readonly alert: string } {
  const line = deep('state-line').shadowRoot!;
  return { status: deep('[role="status"]', line).textContent!.trim(), alert: deep('[role="alert"]', line).textContent!.trim() };
}

export function button(words: string | RegExp, from: ParentNode = document): HTMLElement {
  const found = allDeep('button', from).find((element) => {
    const name = element.getAttribute('aria-label') ?? element.textContent!.replace(/\s+/g, ' ').trim();
    return typeof words === 'string' ? name.toLowerCase() === words.toLowerCase() : words.test(name);
  });
  if (!found) throw new Error(`no button ${words}`);
  return found;
}

/** A page that is taken away when the test ends. */
export async function mounted(mounting: Promise<MountedPage>): Promise<MountedPage> {
  const page = await mounting;
  onTestFinished(() => page.remove());
  return page;
}

/** Until the test ends nothing can be seen; what can be reached and read out is as it was. */
export function closeEyes(): void {
  document.documentElement.style.opacity = '0';
  onTestFinished(() => { document.documentElement.style.opacity = ''; });
}

/** Name of what has the focus, as it would be read out. */
export function readOut(): string {
  const element = focused() as HTMLInputElement | null;
  const labelled = element?.getAttribute('aria-label') ?? element?.labels?.[0]?.textContent ?? element?.textContent ?? '';
  return labelled.replace(/\s+/g, ' ').trim();
}

/** By Tab alone. */
export async function tabTo(name: RegExp): Promise<void> {
  const passed: string[] = [];
  while (!name.test(readOut())) {
    passed.push(readOut());
    if (passed.length > 120) throw new Error(`Tab does not come to ${name}; it came to ${passed.join(' | ')}`);
    await userEvent.tab();
  }
}

/** By arrows, in the chooser that has the focus. */
export async function choose(option: string): Promise<void> {
  const chooser = focused() as HTMLSelectElement;
  for (let step = 0; step < 10 && chooser.selectedOptions[0]!.text !== option; step += 1) await userEvent.keyboard('{ArrowUp}');
  expect(chooser.selectedOptions[0]!.text).toBe(option);
}
