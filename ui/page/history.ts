/**
 * Undo and redo. One drag is one entry; key steps on one value within 800 ms are one; leaving the value closes the step.
 * Whole settings are kept (they share their unchanged parts), so undo restores exactly what was there. All pure.
 */
import type { Setting } from '../../dsp/setting/index.ts';
import type { SheetKey } from './sheets.ts';
import type { Action } from './state.ts';

/** Key steps on one value no further apart than this belong to one entry. */
export const stepMergeMs = 800;
const longestHistory = 500;

/** What an entry changed, so that undo can tell it. */
export type Subject =
  | { readonly kind: 'value'; readonly stageKey: string; readonly parameter: string }
  | { readonly kind: 'stage' | 'joint'; readonly stageKey: string }
  | { readonly kind: 'sheet'; readonly sheet: SheetKey }
  | { readonly kind: 'order' | 'calibration' | 'rate' | 'title' | 'notes' | 'setting' };

export interface HistoryEntry {
  readonly before: Setting;
  readonly after: Setting;
  readonly subject: Subject;
}

type OpenStep =
  | { readonly kind: 'drag'; readonly stageKey: string; readonly parameter: string; readonly start: Setting }
  | { readonly kind: 'steps'; readonly stageKey: string; readonly parameter: string; readonly lastMs: number }
  /** Every change of the section's values until it is turned down; `parameter` is its frequency. */
  | { readonly kind: 'search'; readonly stageKey: string; readonly parameter: string; readonly section: string; readonly start: Setting };

export interface History {
  readonly past: readonly HistoryEntry[];
  readonly future: readonly HistoryEntry[];
  readonly open: OpenStep | null;
}

export const emptyHistory: History = { past: [], future: [], open: null };

/** Setting to go back to when a drag is cancelled; null when no drag of this value is open. */
export function dragStart(history: History, stageKey: string, parameter: string): Setting | null {
  const { open } = history;
  return open?.kind === 'drag' && open.stageKey === stageKey && open.parameter === parameter ? open.start : null;
}

/** Whether this action begins a new gesture (the moment at which marks are set on the bars). */
export function beginsGesture(history: History, action: Action, nowMs: number): boolean {
  if (action.kind !== 'set-value' || action.phase === 'cancel') return false;
  const { open } = history;
  const sameValue = open !== null && open.stageKey === action.stageKey && open.parameter === action.parameter;
  if (action.phase === 'begin') return true;
  if (!sameValue) return true;
  return action.phase === 'step' && (open.kind !== 'steps' || nowMs - open.lastMs > stepMergeMs);
}

/** History after `action` took the setting from `before` to `after`. */
export function record(history: History, before: Setting, after: Setting, action: Action, nowMs: number): History {
  if (action.kind === 'search') {
    const section = `section${action.section}`;
    return differs(before, after) ? { ...closeStep(history, before), open: { kind: 'search', stageKey: action.stageKey, parameter: `${section}Hz`, section, start: before } } : history;
  }
  if (action.kind === 'turn-down') return closeStep(history, after);
  if (searchGoesOn(history, action)) return history;
  if (action.kind === 'set-value') return recordValue(history, before, after, action, nowMs);
  if (action.kind === 'leave-value') return closeStep(history, after);
  const subject = subjectOf(action);
  if (!subject || !differs(before, after)) return history;
  return push(closeStep(history, before), { before, after, subject });
}

/** Setting to go back to when a search is left; null when none is open. */
export function searchStart(history: History): Setting | null {
  return history.open?.kind === 'search' ? history.open.start : null;
}

/** Values of the section that is searched with belong to the search. */
function searchGoesOn({ open }: History, action: Action): boolean {
  if (open?.kind !== 'search') return false;
  return action.kind === 'leave-value' || (action.kind === 'set-value' && action.stageKey === open.stageKey && action.parameter.startsWith(open.section));
}

/** The drag that is open becomes an entry; steps are closed. */
export function closeStep(history: History, now: Setting): History {
  const { open } = history;
  if (!open) return history;
  const closed = { ...history, open: null };
  if (open.kind === 'steps' || !differs(open.start, now)) return closed;
  return push(closed, { before: open.start, after: now, subject: { kind: 'value', stageKey: open.stageKey, parameter: open.parameter } });
}

/** One entry back; null when there is none. The drag that is open must have been closed. */
export function back(history: History): { readonly history: History; readonly entry: HistoryEntry } | null {
  const entry = history.past.at(-1);
  return entry ? { entry, history: { past: history.past.slice(0, -1), future: [...history.future, entry], open: null } } : null;
}

/** One entry forward again; null when there is none. */
export function forward(history: History): { readonly history: History; readonly entry: HistoryEntry } | null {
  const entry = history.future.at(-1);
  return entry ? { entry, history: { past: [...history.past, entry], future: history.future.slice(0, -1), open: null } } : null;
}

/** Whether anything a person set differs; the stored level match is the bench's own and does not count. */
export function differs(a: Setting, b: Setting): boolean {
  return a.title !== b.title || a.notes !== b.notes || !samePath(a, b);
}

function samePath(a: Setting, b: Setting): boolean {
  if (a.path === b.path) return true;
  const { stages, ...rest } = a.path;
  const { stages: otherStages, ...otherRest } = b.path;
  return JSON.stringify(rest) === JSON.stringify(otherRest) && stages.length === otherStages.length
    && stages.every((stage, index) => stage === otherStages[index] || sameStage(stage, otherStages[index]!));
}

type PathStage = Setting['path']['stages'][number];

/** Keys are identities of this sitting, not part of what a stage is; yet undo must tell two stages of the same kind apart. */
function sameStage(a: PathStage, b: PathStage): boolean {
  return a.key === b.key && a.stage === b.stage && a.inCircuit === b.inCircuit && a.reversed === b.reversed && a.joined === b.joined
    && Object.keys(a.values).every((id) => a.values[id] === b.values[id]);
}

function recordValue(history: History, before: Setting, after: Setting, action: Extract<Action, { kind: 'set-value' }>, nowMs: number): History {
  const { stageKey, parameter, phase } = action;
  const subject: Subject = { kind: 'value', stageKey, parameter };
  const dragging = dragStart(history, stageKey, parameter) !== null;
  switch (phase) {
    case 'begin':
      return { ...closeStep(history, before), open: { kind: 'drag', stageKey, parameter, start: before } };
    case 'move':
      return dragging ? history : { ...closeStep(history, before), open: { kind: 'drag', stageKey, parameter, start: before } };
    case 'cancel':
      // Going back to the start is the bench's doing, which has the state; nothing is recorded.
      return history;
    case 'end': {
      if (dragging) return closeStep(history, after);
      const closed = closeStep(history, before);
      return differs(before, after) ? push(closed, { before, after, subject }) : closed;
    }
    case 'step': {
      if (!differs(before, after)) return history;
      const open: OpenStep = { kind: 'steps', stageKey, parameter, lastMs: nowMs };
      const last = history.past.at(-1);
      if (last && !beginsGesture(history, action, nowMs)) {
        const earlier = history.past.slice(0, -1);
        return { past: differs(last.before, after) ? [...earlier, { ...last, after }] : earlier, future: [], open: differs(last.before, after) ? open : null };
      }
      return { ...push(closeStep(history, before), { before, after, subject }), open };
    }
  }
}

function push(history: History, entry: HistoryEntry): History {
  return { past: [...history.past, entry].slice(-longestHistory), future: [], open: null };
}

function subjectOf(action: Action): Subject | null {
  switch (action.kind) {
    case 'stage-in-out': case 'reverse-polarity': return { kind: 'stage', stageKey: action.stageKey };
    case 'join-stage': return { kind: 'joint', stageKey: action.stageKey };
    case 'sheet': return { kind: 'sheet', sheet: action.sheet };
    case 'move-stage': case 'insert-stage': case 'remove-stage': return { kind: 'order' };
    case 'calibration': return { kind: 'calibration' };
    case 'rate-factor': case 'ladder': return { kind: 'rate' };
    case 'rename': return { kind: 'title' };
    case 'note': case 'drop-note': return { kind: 'notes' };
    case 'thaw': case 'ready-path': case 'take-up': case 'restore-kept': case 'back-to-note': case 'open-ticket': case 'ticket-entry': return { kind: 'setting' };
    default: return null;
  }
}
