/** Session ↔ plain data for the autosave, but for drafts and kept figures, which are stored apart (`drafts-text.ts`, `kept-text.ts`). Stages are named by their place, since keys are given anew when a setting is read. */
import type { Setting } from '../../dsp/setting/index.ts';
import { defaultLetters, keyCommands, keyConflict } from './keys.ts';
import { readPair } from './drafts-text.ts';
import { isSheetKey } from './sheets.ts';
import { figureViewById } from '../../dsp/measure/figures/index.ts';
import { acceptable } from './changes.ts';
import type { FigureSession, KeyCommand, KeySettings, LoopEntry, SessionState } from './state.ts';

export function writeSession(session: SessionState, setting: Setting): object {
  const placeOf = (key: string) => setting.path.stages.findIndex((stage) => stage.key === key);
  const { openStageKey, onTrial, kept: _, drafts: __, ...rest } = session;
  return { ...rest, openStage: isSheetKey(openStageKey) ? openStageKey : placeOf(openStageKey), onTrial: onTrial.kind === 'path' ? 'path' : placeOf(onTrial.key), without: onTrial.kind === 'without' ? onTrial.mechanism : null };
}

type Fields = Record<string, unknown>;

const isObject = (value: unknown): value is Fields => typeof value === 'object' && value !== null && !Array.isArray(value);
const finite = (value: unknown, minimum: number, maximum: number): value is number => typeof value === 'number' && value >= minimum && value <= maximum;

/** A field that is missing or out of its domain is taken from `opening`. @throws Error when it is not an object at all */
export function readSession(stored: unknown, setting: Setting, opening: SessionState, loops: readonly LoopEntry[]): SessionState {
  if (!isObject(stored)) throw new Error('session: expected an object');
  const keyAt = (place: unknown) => (typeof place === 'number' ? setting.path.stages[place]?.key : undefined);
  const flag = (name: keyof SessionState) => (typeof stored[name] === 'boolean' ? stored[name] : opening[name] === true);
  const trialKey = keyAt(stored['onTrial']);
  const { without } = stored;
  const pair = readPair(stored['pair'], opening.drafts);
  const loop = loops.find(({ identifier }) => identifier === stored['loop']);
  return {
    openStageKey: oneOf(stored['openStage'], ['surroundings', 'supply']) ?? keyAt(stored['openStage']) ?? opening.openStageKey,
    onTrial: pair !== null || trialKey === undefined ? { kind: 'path' } : typeof without === 'string' ? { kind: 'without', key: trialKey, mechanism: without } : { kind: 'stage', key: trialKey },
    pair, drafts: opening.drafts,
    loop: loop?.identifier ?? opening.loop,
    region: loop ? readRegion(stored['region'], loop) : null,
    probe: readProbe(stored['probe']) ?? opening.probe,
    scope: oneOf(stored['scope'], ['path', 'stage']) ?? opening.scope,
    ledgerShowsPhase: flag('ledgerShowsPhase'),
    harmonicsHeld: false,
    keptMarks: readMarks(stored['keptMarks']),
    series: oneOf(stored['series'], ['E12', 'E24', 'E96']) ?? opening.series,
    look: oneOf(stored['look'], ['system', 'light', 'dark']) ?? opening.look,
    partsListChosen: flag('partsListChosen'),
    marginOpen: flag('marginOpen'),
    keys: readKeys(stored['keys']) ?? opening.keys,
    figures: readFigures(stored['figures'], opening.figures),
    kept: opening.kept,
    firstLook: stored['firstLook'] === null ? null : readFirstLook(stored['firstLook']) ?? opening.firstLook,
  };
}

function oneOf<const T extends string>(value: unknown, options: readonly T[]): T | undefined {
  return options.find((option) => option === value);
}

function readRegion(stored: unknown, loop: LoopEntry): SessionState['region'] {
  if (!isObject(stored)) return null;
  const { startSeconds, endSeconds } = stored;
  if (!finite(startSeconds, 0, loop.durationSeconds) || !finite(endSeconds, 0, loop.durationSeconds) || !(endSeconds > startSeconds)) return null;
  return { startSeconds, endSeconds };
}

function readProbe(stored: unknown): SessionState['probe'] | null {
  if (!isObject(stored)) return null;
  const { frequencyHz, levelDbu } = stored;
  return finite(frequencyHz, 20, 20_000) && finite(levelDbu, -60, 30) ? { frequencyHz, levelDbu } : null;
}

function readMarks(stored: unknown): SessionState['keptMarks'] {
  if (!isObject(stored)) return null;
  const marks = Object.entries(stored).filter((entry): entry is [string, number] => /^\d{1,2}$/.test(entry[0]) && finite(entry[1], -400, 100));
  return marks.length > 0 ? Object.fromEntries(marks) : null;
}

function readFigures(stored: unknown, opening: FigureSession): FigureSession {
  if (!isObject(stored)) return opening;
  const view = (id: unknown) => (typeof id === 'string' && figureViewById(id) ? id : null);
  const values = isObject(stored['values']) ? Object.entries(stored['values']).flatMap(([id, given]) => {
    const parameters = figureViewById(id)?.parameters;
    if (!parameters || !isObject(given)) return [];
    return [[id, Object.fromEntries(parameters.flatMap((parameter) => {
      const value = given[parameter.id];
      const taken = typeof value === 'number' || typeof value === 'string' ? acceptable(parameter, value) : undefined;
      return taken === undefined ? [] : [[parameter.id, taken]];
    }))]];
  }) : [];
  return { open: view(stored['open']), last: view(stored['last']), scope: oneOf(stored['scope'], ['path', 'stage']) ?? opening.scope, values: Object.fromEntries(values) };
}

function readKeys(stored: unknown): KeySettings | null {
  if (!isObject(stored) || !isObject(stored['letters'])) return null;
  const given = stored['letters'];
  const letters = Object.fromEntries(keyCommands.map((command) => [command, String(given[command] ?? defaultLetters[command])])) as Record<KeyCommand, string>;
  if (keyConflict(letters)) return null;
  return { singleLetters: stored['singleLetters'] !== false, letters, speakSwitches: stored['speakSwitches'] === true };
}

function readFirstLook(stored: unknown): SessionState['firstLook'] {
  if (!isObject(stored)) return null;
  const done = (name: string) => stored[name] === true;
  return { played: done('played'), switched: done('switched'), dialled: done('dialled'), frozen: done('frozen') };
}
