/** Which key asks for what. Pure but for `strokeOf`, which reads a browser event. */
import type { KeyCommand, KeySettings } from './state.ts';

export const defaultLetters: Readonly<Record<KeyCommand, string>> = {
  toggle: 'c', in: 'i', out: 'o', listen: 'l', 'tell-state': 't', 'tell-harmonics': 'h', 'go-to-value': 'g', figures: 'f', difference: 'd',
};

/** As the key card lists them. */
export const commandWords: Readonly<Record<KeyCommand, string>> = {
  toggle: 'Switch what is on trial; held, it returns on release',
  in: 'In circuit',
  out: 'Out of circuit',
  listen: 'To the listening surface',
  'tell-state': 'Tell the state',
  'tell-harmonics': 'Tell the harmonics',
  'go-to-value': 'Go to a value by designator or name',
  figures: 'To the open figure, or open the last; from a figure to the next',
  difference: 'Only what the thing on trial adds; again: the path',
};

export const keyCommands = Object.keys(defaultLetters) as readonly KeyCommand[];

/** Where the key was pressed, as far as it matters. */
export type StrokeTarget =
  /** Text is being typed. */
  | 'text'
  /** A list that letters search and Space opens. */
  | 'chooser'
  /** A button, switch or disclosure reached by keyboard: Space is its own. */
  | 'button-by-keyboard'
  | 'elsewhere';

export interface Stroke {
  readonly key: string;
  readonly control: boolean;
  readonly alt: boolean;
  readonly shift: boolean;
  readonly repeat: boolean;
  readonly target: StrokeTarget;
}

export type KeyRequest = KeyCommand | 'play-pause' | 'silence' | 'undo' | 'redo' | 'freeze';

/** What a stroke asks for; null when the key belongs to what has the focus, or to nobody. */
export function requestOf(stroke: Stroke, keys: KeySettings): KeyRequest | null {
  const { key, control, alt, shift, repeat, target } = stroke;
  if (key === 'Escape') return 'silence';
  if (repeat) return undoRequest(stroke);
  if (control && !alt) return key.toLowerCase() === 's' && !shift ? 'freeze' : undoRequest(stroke);
  if (control || alt || shift || target === 'text' || target === 'chooser') return null;
  if (key === ' ') return target === 'button-by-keyboard' ? null : 'play-pause';
  if (!keys.singleLetters) return null;
  return keyCommands.find((command) => keys.letters[command] === key.toLowerCase()) ?? null;
}

/** Undo and redo may repeat; a text being typed keeps its own. */
function undoRequest({ key, control, alt, shift, target }: Stroke): 'undo' | 'redo' | null {
  if (!control || alt || target === 'text') return null;
  const letter = key.toLowerCase();
  if (letter === 'z') return shift ? 'redo' : 'undo';
  return letter === 'y' && !shift ? 'redo' : null;
}

/** A sentence when two commands share a letter or one has none; null when all is well. */
export function keyConflict(letters: Readonly<Record<KeyCommand, string>>): string | null {
  for (const command of keyCommands) {
    const letter = letters[command];
    if (!/^[a-z]$/.test(letter)) return `"${commandWords[command]}": expected one letter from a to z, got "${letter}".`;
    const other = keyCommands.find((candidate) => candidate !== command && letters[candidate] === letter);
    if (other) return `${letter.toUpperCase()} is already "${commandWords[other]}"; choose another letter.`;
  }
  return null;
}

const textTypes = new Set(['text', 'search', 'email', 'url', 'tel', 'password', 'number', '']);

/**
 * Reads the innermost target, through shadow roots.
 * @param clicked path of the last press of a pointer, emptied by Tab: a browser may count a clicked button as focus-visible as
 * soon as a key goes down, and Space must still play after a click
 */
export function strokeOf(event: KeyboardEvent, clicked: readonly EventTarget[]): Stroke {
  return {
    key: event.key, control: event.ctrlKey || event.metaKey, alt: event.altKey, shift: event.shiftKey, repeat: event.repeat,
    target: targetOf(event.composedPath()[0], clicked),
  };
}

function targetOf(target: EventTarget | undefined, clicked: readonly EventTarget[]): StrokeTarget {
  if (!(target instanceof HTMLElement)) return 'elsewhere';
  if (target instanceof HTMLTextAreaElement || target.isContentEditable) return 'text';
  if (target instanceof HTMLInputElement && textTypes.has(target.getAttribute('type') ?? '')) return 'text';
  if (target instanceof HTMLSelectElement) return 'chooser';
  const role = target.getAttribute('role');
  const buttonLike = target.matches('button, summary, a[href], input') || role === 'button' || role === 'switch' || role === 'checkbox';
  return buttonLike && target.matches(':focus-visible') && !clicked.includes(target) ? 'button-by-keyboard' : 'elsewhere';
}
