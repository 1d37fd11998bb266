/** What is kept of a file that was opened, as it lies in the store: read back like a file from a stranger. Pure. */
import { highestRateHz, lowestRateHz } from '../../dsp/recording/index.ts';
import { mostTrimDb } from './reduce-material.ts';
import type { RememberedUse } from './material-state.ts';

export interface MaterialRecord extends RememberedUse {
  readonly name: string;
  readonly rateHz: number;
  readonly channels: 1 | 2;
  readonly seconds: number;
  /** Milliseconds since 1970: the oldest are forgotten first. */
  readonly openedAt: number;
  /** Where the browser has such a thing. */
  readonly handle: FileSystemFileHandle | null;
}

/** So many are remembered. */
export const mostRemembered = 30;

export const materialIdOf = (sha256: string): string => `file:${sha256.slice(0, 16)}`;

export const isMaterialId = (loop: string): boolean => /^file:[0-9a-f]{16}$/.test(loop);

/** Null: no record of ours. A region or trim that cannot be is left out. */
export function readMaterialRecord(stored: unknown): MaterialRecord | null {
  if (typeof stored !== 'object' || stored === null) return null;
  const { name, rateHz, channels, seconds, openedAt, region, trimDb, handle } = stored as Record<string, unknown>;
  if (typeof name !== 'string' || name.length > 300 || !within(rateHz, lowestRateHz, highestRateHz) || (channels !== 1 && channels !== 2)
    || !within(seconds, 0, 1e9) || !within(openedAt, 0, 1e15)) return null;
  return { name, rateHz, channels, seconds, openedAt, region: readRegion(region, seconds), trimDb: within(trimDb, -mostTrimDb, 0) ? trimDb : null, handle: isHandle(handle) ? handle : null };
}

function readRegion(stored: unknown, seconds: number): RememberedUse['region'] {
  if (typeof stored !== 'object' || stored === null) return null;
  const { startSeconds, endSeconds } = stored as Record<string, unknown>;
  return within(startSeconds, 0, seconds) && within(endSeconds, 0, seconds) && endSeconds > startSeconds ? { startSeconds, endSeconds } : null;
}

function within(value: unknown, least: number, most: number): value is number {
  return typeof value === 'number' && value >= least && value <= most;
}

function isHandle(value: unknown): value is FileSystemFileHandle {
  return typeof FileSystemFileHandle !== 'undefined' && value instanceof FileSystemFileHandle;
}
