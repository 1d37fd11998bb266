/** The hand on a plot: where its cursor is, which line it reads, which span is being chosen; by pointer and by keys. */
import { nearestStop, nearestTrace, readAt, stepped, stops } from '../../plot/index.ts';
import type { DrawnTrace, Scene, ScenePanel } from '../../plot/index.ts';
import type { GesturePhase } from '../state.ts';

/** Where the cursor is. */
export interface CursorDetail {
  readonly panel: number;
  readonly x: number;
  /** Id of the line that is read. */
  readonly trace: string;
  /** Label of the kept figure it belongs to; null: of the present one. */
  readonly kept: string | null;
  /** NaN where the line is not. */
  readonly y: number;
}

export interface SpanDetail {
  readonly panel: number;
  readonly from: number;
  readonly to: number;
}

/** Something that is moved along x in place of the cursor. */
export interface PlotHandle {
  readonly x: number;
  /** "centre of the searching bell" */
  readonly name: string;
}

export interface HandleDetail {
  readonly x: number;
  readonly phase: GesturePhase;
}

/** Where a key takes the cursor or the handle; null: it is not a key for that. */
export type KeySteps = (x: number | null, key: string, shift: boolean) => number | null;

/** What the hand moves over. */
export interface PlotGround {
  readonly scene: Scene | null;
  readonly handle: PlotHandle | null;
  readonly keySteps: KeySteps | null;
  /** px of the drawing at a pointer. */
  placeOf(event: PointerEvent): { readonly x: number; readonly y: number };
  requestUpdate(): void;
  send(name: 'cursor-moved', detail: CursorDetail | null): void;
  send(name: 'span-selected', detail: SpanDetail): void;
  send(name: 'handle-moved', detail: HandleDetail): void;
}

export interface PlotPlace {
  readonly panel: number;
  /** Index among the panel's lines; −1: it has none. */
  readonly trace: number;
  readonly x: number;
}

/** A press that moves less is no drag, px; the cursor takes a point of the line this near. */
const [dragPx, snapPx] = [3, 10];

export class PlotCursor {
  /** Null: nowhere. */
  at: PlotPlace | null = null;
  /** Being dragged, or left as it was chosen last; in the order of the drag. */
  span: SpanDetail | null = null;
  /** First end set by key. */
  start: { readonly panel: number; readonly x: number } | null = null;

  readonly #ground: PlotGround;
  readonly #stops = new WeakMap<DrawnTrace, readonly number[]>();
  /** A press on a panel that selects: where it began; whether it has become a drag. */
  #drag: { readonly pointer: number; readonly startPx: number; readonly startX: number; readonly panel: number; moved: boolean } | null = null;
  #holding: number | null = null;

  constructor(ground: PlotGround) {
    this.#ground = ground;
  }

  /** The place on the scene there is now, which may have fewer panels or lines than that it was put on. */
  get place(): { readonly panel: ScenePanel; readonly index: number; readonly drawn: DrawnTrace | null; readonly x: number } | null {
    const { scene } = this.#ground;
    if (this.at === null || scene === null || scene.panels.length === 0) return null;
    const index = Math.min(this.at.panel, scene.panels.length - 1);
    const panel = scene.panels[index]!;
    return { panel, index, drawn: panel.traces[Math.min(this.at.trace, panel.traces.length - 1)] ?? null, x: this.at.x };
  }

  /** @returns whether it was a key for the plot */
  key({ key, shiftKey, ctrlKey, metaKey, altKey }: KeyboardEvent): boolean {
    const { scene, handle, keySteps } = this.#ground;
    if (ctrlKey || metaKey || altKey || scene === null || scene.panels.length === 0) return false;
    if (key === 'Escape') {
      // Escape silences as well: it is not kept here.
      this.giveUp();
      return false;
    }
    if (keySteps !== null) {
      const to = keySteps(handle?.x ?? this.at?.x ?? null, key, shiftKey);
      if (to === null) return false;
      if (handle) this.#ground.send('handle-moved', { x: to, phase: 'step' });
      else this.#put({ panel: 0, trace: 0, x: to });
      return true;
    }
    switch (key) {
      case 'ArrowRight': return this.#step(shiftKey ? 10 : 1);
      case 'ArrowLeft': return this.#step(shiftKey ? -10 : -1);
      case 'Home': return this.#step(-Infinity);
      case 'End': return this.#step(Infinity);
      case 'ArrowUp': return this.#nextTrace(-1);
      case 'ArrowDown': return this.#nextTrace(1);
      case 's': case 'S': return this.#mark('start');
      case 'e': case 'E': return this.#mark('end');
      default: return false;
    }
  }

  #stopsOf(drawn: DrawnTrace, panel: ScenePanel): readonly number[] {
    let found = this.#stops.get(drawn);
    if (found === undefined) this.#stops.set(drawn, found = stops(drawn, panel));
    return found;
  }

  #put(at: PlotPlace): void {
    this.at = at;
    this.#ground.requestUpdate();
    const place = this.place!;
    if (place.drawn) this.#ground.send('cursor-moved', { panel: place.index, x: at.x, trace: place.drawn.trace.id, kept: place.drawn.kept, y: readAt(place.drawn, place.panel, at.x) });
  }

  #step(by: number): boolean {
    const place = this.place ?? this.#first();
    if (!place?.drawn) return true;
    const to = stepped(this.#stopsOf(place.drawn, place.panel), this.at?.x ?? null, by);
    if (to !== null) this.#put({ panel: place.index, trace: place.panel.traces.indexOf(place.drawn), x: to });
    return true;
  }

  #first(): PlotCursor['place'] {
    const { panels } = this.#ground.scene!;
    const index = panels.findIndex(({ traces }) => traces.length > 0);
    return index < 0 ? null : { panel: panels[index]!, index, drawn: panels[index]!.traces[0]!, x: panels[index]!.x.axis.from };
  }

  /** The next line, of the next panel after a panel's last. */
  #nextTrace(by: number): boolean {
    const { panels } = this.#ground.scene!;
    const all = panels.flatMap(({ traces }, panel) => traces.map((_, trace) => ({ panel, trace })));
    if (all.length === 0) return true;
    const place = this.place;
    if (!place?.drawn) return this.#step(1);
    const now = all.findIndex(({ panel, trace }) => panel === place.index && panels[panel]!.traces[trace] === place.drawn);
    const next = all[Math.min(all.length - 1, Math.max(0, now + by))]!;
    const panel = panels[next.panel]!;
    const { from, to } = panel.x.axis;
    const inside = place.x >= Math.min(from, to) && place.x <= Math.max(from, to);
    const x = inside ? place.x : this.#stopsOf(panel.traces[next.trace]!, panel)[0] ?? from;
    this.#put({ ...next, x });
    return true;
  }

  #mark(end: 'start' | 'end'): boolean {
    const place = this.place;
    if (place === null || !place.panel.selects) return false;
    if (end === 'start') this.start = { panel: place.index, x: place.x };
    else if (this.start !== null && this.start.panel === place.index && this.start.x !== place.x) this.#select(this.start.x, place.x, place.index);
    this.#ground.requestUpdate();
    return true;
  }

  #select(one: number, other: number, panel: number): void {
    this.span = { panel, from: Math.min(one, other), to: Math.max(one, other) };
    this.start = null;
    this.#ground.send('span-selected', this.span);
    this.#ground.requestUpdate();
  }

  #panelAt(y: number): number {
    const { panels } = this.#ground.scene!;
    const away = panels.map(({ top, bottom }) => Math.max(top - y, y - bottom, 0));
    return away.indexOf(Math.min(...away));
  }

  press(event: PointerEvent): void {
    const { scene, handle } = this.#ground;
    if (event.button !== 0 || scene === null || scene.panels.length === 0) return;
    const { x, y } = this.#ground.placeOf(event);
    const index = this.#panelAt(y);
    const panel = scene.panels[index]!;
    if (handle) {
      this.#holding = event.pointerId;
      (event.currentTarget as HTMLElement).setPointerCapture(event.pointerId);
      this.#ground.send('handle-moved', { x: scene.panels[0]!.x.valueAt(x), phase: 'begin' });
      return;
    }
    if (panel.selects) {
      this.#drag = { pointer: event.pointerId, startPx: x, startX: panel.x.valueAt(x), panel: index, moved: false };
      (event.currentTarget as HTMLElement).setPointerCapture(event.pointerId);
    }
    this.#point(x, y);
  }

  pull(event: PointerEvent): void {
    const { scene, handle } = this.#ground;
    if (scene === null || scene.panels.length === 0) return;
    const { x, y } = this.#ground.placeOf(event);
    if (handle) {
      if (this.#holding === event.pointerId) this.#ground.send('handle-moved', { x: scene.panels[0]!.x.valueAt(x), phase: 'move' });
      return;
    }
    const drag = this.#drag;
    if (drag && drag.pointer === event.pointerId) {
      drag.moved ||= Math.abs(x - drag.startPx) > dragPx;
      const panel = scene.panels[drag.panel];
      if (drag.moved && panel) this.span = { panel: drag.panel, from: drag.startX, to: panel.x.valueAt(x) };
    }
    this.#point(x, y);
  }

  /** The cursor under a pointer: on the nearest line, at its nearest point if that is close. */
  #point(x: number, y: number): void {
    const index = this.#panelAt(y);
    const panel = this.#ground.scene!.panels[index]!;
    const value = panel.x.valueAt(x);
    const trace = this.#ground.keySteps ? 0 : nearestTrace(panel, value, y);
    const stop = trace < 0 || this.#ground.keySteps ? null : nearestStop(this.#stopsOf(panel.traces[trace]!, panel), panel, value);
    this.#put({ panel: index, trace: Math.max(0, trace), x: stop !== null && Math.abs(panel.x.place(stop) - x) <= snapPx ? stop : value });
  }

  release(event: PointerEvent): void {
    const { scene, handle } = this.#ground;
    const { x } = this.#ground.placeOf(event);
    if (this.#holding === event.pointerId) {
      this.#holding = null;
      if (handle && scene) this.#ground.send('handle-moved', { x: scene.panels[0]!.x.valueAt(x), phase: 'end' });
    }
    const drag = this.#drag;
    if (drag?.pointer !== event.pointerId) return;
    this.#drag = null;
    const panel = scene?.panels[drag.panel];
    if (drag.moved && panel) this.#select(drag.startX, panel.x.valueAt(x), drag.panel);
  }

  /** The system took the pointer away, or Escape: a span begun is dropped; a handle stays where it is. */
  giveUp(): void {
    const { handle } = this.#ground;
    if (this.#holding !== null) {
      this.#holding = null;
      if (handle) this.#ground.send('handle-moved', { x: handle.x, phase: 'end' });
    }
    if (this.#drag?.moved) this.span = null;
    this.#drag = null;
    this.start = null;
    this.#ground.requestUpdate();
  }

  /** A pointer went away; `keep`: the keys still have the cursor, or a finger that was lifted put it there. */
  leave(keep: boolean): void {
    if (this.#drag || this.#holding !== null || keep || this.at === null) return;
    this.at = null;
    this.#ground.send('cursor-moved', null);
    this.#ground.requestUpdate();
  }
}
