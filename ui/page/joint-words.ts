/** How a stage hangs on the one before it, in words. Pure. */
import { stageById } from '../../dsp/stages/index.ts';
import type { Setting } from '../../dsp/setting/index.ts';
import { stageName } from './tell.ts';

export interface JointWords {
  /** "1 single-ended" */
  readonly before: string;
  readonly joined: boolean;
  /** On the switch: "joined to 1 single-ended", "… by the probe", "not joined to …". */
  readonly short: string;
  /** What the probe found; empty before it ran. */
  readonly verdict: string;
}

/** Words on the joint before the stage at `index`; null where there is none: the first circuit in the path, a stage that is no circuit, or one that is out. */
export function jointWords(setting: Setting, index: number): JointWords | null {
  const { path, joints } = setting;
  const stage = path.stages[index];
  if (!stage?.inCircuit || !isCircuit(stage)) return null;
  const before = path.stages.slice(0, index).reverse().find(({ inCircuit }) => inCircuit);
  if (!before || !isCircuit(before)) return null;
  const probed = joints?.[index] ?? null;
  const name = stageName(setting, before.key);
  const short = stage.joined ? `joined to ${name}` : probed?.joined === true ? `joined to ${name} by the probe` : `not joined to ${name}`;
  return { before: name, joined: stage.joined || probed?.joined === true, short, verdict: probed === null ? '' : differenceWords(probed.differenceDb) };
}

function isCircuit({ stage }: Setting['path']['stages'][number]): boolean {
  return stageById(stage).drawing !== null;
}

/** "0.012 dB between the two ways" */
export function differenceWords(differenceDb: number): string {
  if (differenceDb < 0.0005) return 'under 0.001 dB between the two ways';
  return `${differenceDb < 0.1 ? differenceDb.toFixed(3) : differenceDb.toFixed(2)} dB between the two ways`;
}
