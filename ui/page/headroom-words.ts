/** Headroom along the path as the margin shows it. Pure. */
import { uncapitalised } from '../documents/first-letter.ts';
import type { RailMargin, StageHeadroom } from '../../dsp/measure/index.ts';
import type { BenchState } from './state.ts';
import { stageName } from './tell.ts';

export interface HeadroomRow {
  readonly key: string;
  readonly name: string;
  readonly levelDbu: number;
  readonly levelDbfs: number;
  /** "13.5 dB left", "already 2.1 dB beyond"; empty where nothing is known to give out. */
  readonly left: string;
  /** What each rail leaves; of the open stage and of the one that gives out first. */
  readonly rails: readonly { readonly label: string; readonly left: string }[];
}

export interface HeadroomWords {
  readonly rows: readonly HeadroomRow[];
  /** "First to give out: 2 push-pull, 19.5 dB left to its clip point." Empty where nothing does. */
  readonly first: string;
  /** "10.2 dB left to full scale at the end" */
  readonly fullScale: string;
}

/** Null before it was computed. */
export function headroomWords({ setting, session, live }: BenchState): HeadroomWords | null {
  const { headroom } = live;
  if (headroom === null) return null;
  const { first, fullScaleMarginDb } = headroom;
  const nameOf = ({ key, title }: { readonly key: string; readonly title: string }) => (setting.path.stages.some((stage) => stage.key === key) ? stageName(setting, key) : uncapitalised(title));
  const rows = headroom.stages.map((stage): HeadroomRow => ({
    key: stage.key, name: nameOf(stage), levelDbu: stage.levelDbu, levelDbfs: stage.levelDbfs,
    left: stage.clipMarginDb === null || !Number.isFinite(stage.clipMarginDb) ? '' : leftWords(stage.clipMarginDb),
    rails: stage.key === session.openStageKey || stage.key === first?.key ? railsOf(stage) : [],
  }));
  return {
    rows,
    first: first === null || !Number.isFinite(first.marginDb) ? '' : `First to give out: ${nameOf(first)}, ${toWords(first.marginDb)} ${first.limit === 'clip point' ? 'its clip point' : first.limit}.`,
    fullScale: Number.isFinite(fullScaleMarginDb) ? `${toWords(fullScaleMarginDb)} full scale at the end` : '',
  };
}

function railsOf({ rails }: StageHeadroom): { readonly label: string; readonly left: string }[] {
  return rails.map(({ rail, node, marginDb }: RailMargin) => ({ label: `${rail}, at ${node}`, left: leftWords(marginDb) }));
}

/** Before what it leads to. */
function toWords(db: number): string {
  return db >= 0 ? `${leftWords(db)} to` : leftWords(db);
}

function leftWords(db: number): string {
  return db >= 0 ? `${db.toFixed(1)} dB left` : `${(-db).toFixed(1)} dB beyond`;
}
