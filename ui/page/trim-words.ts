/** Whether own material would clip the path, and by how much it is lowered before it. Pure. */
import { uncapitalised } from '../documents/first-letter.ts';
import { mostTrimDb } from './reduce-material.ts';
import { stageName } from './tell.ts';
import type { BenchState } from './state.ts';

export interface TrimOffer {
  /** What would happen, with both levels. */
  readonly sentence: string;
  /** What would be enough, in steps of half a decibel. */
  readonly lowerDb: number;
}

const stepDb = 0.5;

/** Null: nothing clips, or it is not known yet, or what plays is none of the listener's own files. */
export function trimOffer({ setting, live: { programme, material, headroom } }: BenchState): TrimOffer | null {
  const peakDbfs = material.regionPeakDbfs;
  if (programme?.origin !== 'own' || peakDbfs === null || !Number.isFinite(peakDbfs) || !headroom?.first || !Number.isFinite(headroom.first.marginDb)) return null;
  const { first, sourceDbu, fullScaleDbu } = headroom;
  const peakDbu = peakDbfs + fullScaleDbu;
  const clipDbu = sourceDbu + first.marginDb;
  if (!(peakDbu > clipDbu)) return null;
  const stage = setting.path.stages.some(({ key }) => key === first.key) ? stageName(setting, first.key) : uncapitalised(first.title);
  return {
    sentence: `This material peaks at ${signed(peakDbfs)} dBFS = ${signed(peakDbu)} dBu; for ${stage} that is too much from ${signed(clipDbu)} dBu on.`,
    lowerDb: Math.min(mostTrimDb, Math.ceil((peakDbu - clipDbu) / stepDb) * stepDb),
  };
}

/** "−0.1", "+23.9" */
function signed(db: number): string {
  const rounded = Math.round(db * 10) / 10;
  return rounded < 0 ? `−${(-rounded).toFixed(1)}` : `+${rounded.toFixed(1)}`;
}
