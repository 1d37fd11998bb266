/** The whole page in a real browser, with an engine that only records what it is told. */
import { page } from 'vitest/browser';
import { vi } from 'vitest';
import { paletteCss } from '../../../ui/plot/index.ts';
import { FigureFeed } from '../../../ui/page/figure-feed.ts';
import { Bench } from '../../../ui/page/bench.ts';
import { openingState } from '../../../ui/page/opening.ts';
import { documentCss } from '../../../ui/page/styles/base.ts';
import { createEngine } from '../../../ui/page/engine.ts';
import { parseLoops } from '../../../ui/page/loops.ts';
import '../../../ui/page/fonts.ts';
import '../../../ui/page/elements/stage-bench.ts';
import '../../../ui/page/surfaces.ts';
import type { StageBench } from '../../../ui/page/elements/stage-bench.ts';
import type { Action, BenchState, Engine, LoopEntry, Readings } from '../../../ui/page/state.ts';
import { harmonicsAt, loops } from '../../page/support.ts';

export { harmonicsAt, loops };

export interface MountedPage {
  readonly bench: Bench;
  readonly root: StageBench;
  readonly readings: Readings;
  /** What the open plate shows: where the engine only records, a test writes it. */
  readonly figures: FigureFeed;
  /** Every action, in order. */
  readonly actions: Action[];
  settle(): Promise<void>;
  remove(): Promise<void>;
}

/** Two frames: state has reached every element and every fast figure has been drawn. */
export async function frames(count = 2): Promise<void> {
  for (let frame = 0; frame < count; frame += 1) await new Promise((resolve) => requestAnimationFrame(resolve));
}

/** The page with its own engine, workers and loops. `remove` ends them. */
export async function mountPlayingPage(): Promise<MountedPage> {
  const baseUrl = new URL('/demo-audio/', location.href).href;
  const list = parseLoops(await (await fetch(new URL('loops.json', baseUrl))).json());
  return mount(openingState(list), list, 1280, 800, (dispatch) => createEngine({ dispatch, loops: list, baseUrl }));
}

export function mountPage(initial: BenchState = openingState(loops), width = 1280, height = 800): Promise<MountedPage> {
  return mount(initial, loops, width, height, () => recordingEngine());
}

function recordingEngine(): Engine {
  const readings: Readings = {
    positionSeconds: 2, monitorPeakDb: new Float64Array([-40, -40]), limiterDb: 0, audioLoad: 0.3, lateBlocks: 0,
    overview: Float32Array.from({ length: 200 }, (_, index) => (index % 2 ? 1 : -1) * Math.abs(Math.sin(index / 9))), loopSeconds: 8, input: { peak: 0, heldSeconds: 0 },
  };
  return { readings, figures: new FigureFeed(), begin: () => undefined, playingLog: () => null, follow: () => undefined, dispose: async () => undefined };
}

async function mount(initial: BenchState, list: readonly LoopEntry[], width: number, height: number, makeEngine: (dispatch: (action: Action) => void) => Engine): Promise<MountedPage> {
  await page.viewport(width, height);
  if (document.adoptedStyleSheets.length === 0) {
    const sheet = new CSSStyleSheet();
    sheet.replaceSync(`${paletteCss()}\n${documentCss}`);
    document.adoptedStyleSheets.push(sheet);
  }
  document.documentElement.lang = 'en';
  const bench = new Bench(initial, { nowMs: () => performance.now(), today: () => '2026-11-25' });
  const actions: Action[] = [];
  const engine = makeEngine((action) => bench.dispatch(action));
  const { readings, figures } = engine;
  bench.subscribe((_before, _after, action) => actions.push(action));
  const root = document.createElement('stage-bench');
  Object.assign(root, { bench, engine, loops: list });
  document.body.append(root);
  engine.begin(bench.state);
  const settle = async () => {
    await root.updateComplete;
    await frames();
  };
  await document.fonts.ready;
  await settle();
  return { bench, root, readings, figures, actions, settle, remove: async () => {
    root.remove();
    await engine.dispose();
  } };
}

/** The first match in tree order, through open shadow roots. */
export function deep<E extends Element = HTMLElement>(selector: string, from: ParentNode = document): E {
  const found = allDeep<E>(selector, from)[0];
  if (!found) throw new Error(`nothing matches ${selector}`);
  return found;
}

export function allDeep<E extends Element = HTMLElement>(selector: string, from: ParentNode = document): E[] {
  return [...from.querySelectorAll<Element>('*')].flatMap((element) => [
    ...(element.matches(selector) ? [element as E] : []),
    ...(element.shadowRoot ? allDeep<E>(selector, element.shadowRoot) : []),
  ]);
}

/** What has the focus, through shadow roots. */
export function focused(): Element | null {
  let element = document.activeElement;
  while (element?.shadowRoot?.activeElement) element = element.shadowRoot.activeElement;
  return element;
}

/** Names of the elements from the root down to what has the focus. */
export function focusPath(): string[] {
  const path: string[] = [];
  for (let element = document.activeElement; element; element = element.shadowRoot?.activeElement ?? null) path.push(element.localName);
  return path;
}

/** Tags that hold focusable things, as the page orders them. */
export function regionOf(path: readonly string[]): string {
  return path.find((name) => ['title-line', 'path-strip', 'stage-sheet', 'figure-plate', 'harmonic-ledger', 'margin-column', 'listening-strip', 'state-line'].includes(name)) ?? '';
}

export function press(key: string, options: KeyboardEventInit = {}, target: EventTarget = focused() ?? document.body): KeyboardEvent {
  const event = new KeyboardEvent('keydown', { key, bubbles: true, composed: true, cancelable: true, ...options });
  target.dispatchEvent(event);
  return event;
}

export function release(key: string, target: EventTarget = document.body): void {
  target.dispatchEvent(new KeyboardEvent('keyup', { key, bubbles: true, composed: true }));
}

export const wait = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));

export interface SavedFile {
  readonly name: string;
  readonly blob: Blob;
}

/** What the page gives the browser to save, from here on and until mocks are restored: the list grows with it. */
export function savedFiles(): SavedFile[] {
  const saved: SavedFile[] = [];
  const blobs = new Map<string, Blob>();
  const create = URL.createObjectURL.bind(URL);
  vi.spyOn(URL, 'createObjectURL').mockImplementation((blob) => {
    const address = create(blob);
    blobs.set(address, blob as Blob);
    return address;
  });
  vi.spyOn(HTMLAnchorElement.prototype, 'click').mockImplementation(function click(this: HTMLAnchorElement) {
    saved.push({ name: this.download, blob: blobs.get(this.href)! });
  });
  return saved;
}
