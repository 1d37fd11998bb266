/** Verdicts on joints, as a setting stores them and as they are held against a later look. */
import type { StoredJoint } from './contract.ts';
import { greatestJointDifferenceDb } from './parse.ts';

/** "joined (0.013 dB)" */
export function jointWords(joint: StoredJoint | null): string {
  if (joint === null) return 'no joint of two circuits';
  const { joined, differenceDb } = joint;
  if (!(differenceDb < greatestJointDifferenceDb)) return 'apart (not measured: one of the two ways has no steady state)';
  const figure = differenceDb < 0.0005 ? 'under 0.001 dB' : `${differenceDb.toFixed(differenceDb < 0.1 ? 3 : 2)} dB`;
  return `${joined ? 'joined' : 'apart'} (${figure} between the two ways)`;
}

/** One joint whose verdict is not the stored one. */
export interface JointMovement {
  readonly stageIndex: number;
  readonly expected: StoredJoint | null;
  readonly found: StoredJoint | null;
}

/** Where the probe now says otherwise than was stored; figures may move as long as the verdict stands. */
export function compareJoints(stored: readonly (StoredJoint | null)[], found: readonly (StoredJoint | null)[]): JointMovement[] {
  return found.flatMap((now, stageIndex) => {
    const expected = stored[stageIndex] ?? null;
    return expected?.joined === now?.joined ? [] : [{ stageIndex, expected, found: now }];
  });
}
