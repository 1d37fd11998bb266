/** The open figure of what plays: drawn of every spectrum that is told, its words and tables no oftener than they can be read. */
import type { AnyFigureView, Figure, FigureFacts } from '../../../dsp/measure/figures/index.ts';
import type { SpectrumPoints } from '../../../dsp/measure/index.ts';
import type { StageValues } from '../../../dsp/stages/index.ts';
import type { FigureFeed } from '../figure-feed.ts';

export interface LiveWant {
  readonly view: AnyFigureView;
  readonly values: StageValues;
  readonly facts: FigureFacts;
}

/** What tells the points: `SpectrumFeed`, or a test. */
export interface LiveSource {
  start(values: StageValues, tell: (points: SpectrumPoints) => void): void;
  stop(): void;
}

/** Words and tables change no oftener. */
export const wordsMs = 200;
/** Values that change what is measured; others only how it is drawn. */
const measured = ['tapped', 'size', 'window', 'averaging', 'averages'] as const;

export class LiveFigure {
  readonly #source: LiveSource;
  readonly #feed: FigureFeed;
  readonly #nowMs: () => number;
  #want: LiveWant | null = null;
  #points: SpectrumPoints | undefined;
  #worded: Figure | null = null;
  #wordedMs = -Infinity;

  constructor(source: LiveSource, feed: FigureFeed, nowMs: () => number) {
    this.#source = source;
    this.#feed = feed;
    this.#nowMs = nowMs;
  }

  /** From now on this view; null: none of what plays. The feed is the caller's again. */
  want(want: LiveWant | null): void {
    const before = this.#want;
    this.#want = want;
    if (want === null) {
      if (before !== null) this.#source.stop();
      this.#points = undefined;
      return;
    }
    if (before === null || before.facts.baseRateHz !== want.facts.baseRateHz || measured.some((id) => before.values[id] !== want.values[id])) {
      this.#points = undefined;
      this.#source.start(want.values, (points) => {
        const turned = points.of !== this.#points?.of;
        this.#points = points;
        this.#draw(turned);
      });
    }
    this.#draw(true);
  }

  #draw(reword: boolean): void {
    const { view, facts, values } = this.#want!;
    const drawn = view.draw(facts, values, [this.#points]);
    const now = this.#nowMs();
    if (reword || this.#worded === null || now - this.#wordedMs >= wordsMs) {
      this.#worded = drawn;
      this.#wordedMs = now;
    }
    const { caption, tables } = this.#worded;
    this.#feed.show({ view: view.id, figure: { ...drawn, caption, tables }, done: 1, parts: 1, updating: false, refusal: null });
  }
}
