/** Figures: which plate is open, what is asked of it, what is kept. Pure. */
import { figureViewById } from '../../dsp/measure/figures/index.ts';
import type { FigureSession, Action, BenchState } from './state.ts';
import { acceptable, withMadePath, withMessage, withSession } from './changes.ts';
import { figureValues, keptName, mostKept, scopeWords } from './kept-figures.ts';

const longestName = 60;

export function reduceFigures(state: BenchState, action: Action): BenchState {
  const { figures, kept } = state.session;
  switch (action.kind) {
    case 'open-figure':
      return openFigure(state, action.view);
    case 'figure-value': {
      const parameter = figureViewById(action.view)?.parameters.find(({ id }) => id === action.parameter);
      const value = parameter && acceptable(parameter, action.value);
      if (parameter === undefined || value === undefined || figureValues(state, action.view)[parameter.id] === value) return state;
      return withFigures(state, { values: { ...figures.values, [action.view]: { ...figures.values[action.view], [parameter.id]: value } } });
    }
    case 'figure-scope':
      return action.scope === figures.scope ? state : withFigures(state, { scope: action.scope });
    case 'keep-figure': {
      if (!figureViewById(action.view)) return state;
      if (kept.filter(({ view }) => view === action.view).length >= mostKept) return withMessage(state, `${mostKept} figures of this view are kept; drop one to keep another.`, true);
      const id = String(1 + kept.reduce((most, each) => Math.max(most, Number(each.id)), 0));
      const added = { id, view: action.view, name: null, setting: state.setting, values: figureValues(state, action.view), scope: scopeWords(state), keptAt: action.keptAt, figure: action.figure };
      return withMessage(withSession(state, { kept: [...kept, added] }), 'Kept: it stays on the plot while you change values.');
    }
    case 'drop-kept':
      return kept.some(({ id }) => id === action.id) ? withSession(state, { kept: kept.filter(({ id }) => id !== action.id) }) : state;
    case 'name-kept': {
      const name = action.name.trim().slice(0, longestName);
      return withSession(state, { kept: kept.map((each) => (each.id === action.id ? { ...each, name: name === '' ? null : name } : each)) });
    }
    case 'restore-kept':
      return restore(state, action.id);
    default:
      return state;
  }
}

function withFigures(state: BenchState, change: Partial<FigureSession>): BenchState {
  return withSession(state, { figures: { ...state.session.figures, ...change } });
}

/** The margin, which lists the figures, folds when one opens. */
function openFigure(state: BenchState, view: string | null): BenchState {
  const { open, last } = state.session.figures;
  if (view === open || (view !== null && !figureViewById(view))) return state;
  const opened = withFigures(state, { open: view, last: view ?? last });
  return view === null ? opened : withSession(opened, { marginOpen: false });
}

/** The path it was measured of; title and notes stay those of the page. */
function restore(state: BenchState, id: string): BenchState {
  const kept = state.session.kept.find((each) => each.id === id);
  if (!kept) return state;
  const words = keptName(kept, state);
  const restored = withMadePath(state, kept.setting);
  return withMessage(restored, restored === state ? 'The setting is as it was when this was kept.' : `Setting restored: ${words}`);
}
