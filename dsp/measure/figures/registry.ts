import type { AnyFigureView } from './contract.ts';

/** All figures, in the order they are listed. A new one is one file and one line here. */
export const figureViews: readonly AnyFigureView[] = [
];

/** Undefined: there is none of that name. */
export function figureViewById(id: string): AnyFigureView | undefined {
  return figureViews.find((view) => view.id === id);
}
