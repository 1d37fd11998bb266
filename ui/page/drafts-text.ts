/** Drafts ↔ the text that is stored of them. What is read back is checked like a file from a stranger. */
import { parseSetting, writeSetting } from '../../dsp/setting/index.ts';
import { draftNames, type Draft, type Drafts, type Pair } from './drafts-state.ts';
import { sideNames } from './pair.ts';
import { noDrafts } from './no-drafts.ts';

const version = 1;

export function writeDrafts(drafts: Drafts): string {
  return JSON.stringify({ version, drafts: Object.fromEntries(draftNames.map((name) => [name, writeDraft(drafts[name])])) });
}

function writeDraft(draft: Draft | null): object | null {
  return draft && { setting: writeSetting(draft.setting), laidDown: draft.laidDown };
}

/** One that cannot be read is empty. */
export function readDrafts(text: string | null): Drafts {
  if (text === null) return noDrafts;
  try {
    const stored: unknown = JSON.parse(text);
    if (!isObject(stored) || stored['version'] !== version || !isObject(stored['drafts'])) throw new Error('expected drafts of version 1');
    const { drafts } = stored;
    return Object.fromEntries(draftNames.map((name) => [name, readDraft(isObject(drafts) ? drafts[name] : null, name)])) as unknown as Drafts;
  } catch (error) {
    console.warn('drafts:', error);
    return noDrafts;
  }
}

function readDraft(stored: unknown, name: string): Draft | null {
  if (stored === null || stored === undefined) return null;
  try {
    if (!isObject(stored) || typeof stored['setting'] !== 'string' || typeof stored['laidDown'] !== 'string') throw new Error('expected a setting and a date');
    return { setting: parseSetting(stored['setting']), laidDown: /^\d{4}-\d\d-\d\d$/.test(stored['laidDown']) ? stored['laidDown'] : '' };
  } catch (error) {
    console.warn(`draft ${name}:`, error);
    return null;
  }
}

/** As the session names it; null where it is none, or a side is empty. */
export function readPair(stored: unknown, drafts: Drafts): Pair | null {
  if (!isObject(stored)) return null;
  const side = (given: unknown) => sideNames.find((name) => name === given && (name === 'bench' || drafts[name] !== null));
  const [first, second] = [side(stored['in']), side(stored['out'])];
  return first && second && first !== second ? { in: first, out: second } : null;
}

function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
