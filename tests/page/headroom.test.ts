import { describe, expect, it } from 'vitest';
import { headroomAlong } from '../../ui/page/headroom.ts';
import { withLive } from '../../ui/page/changes.ts';
import { makeBench } from './support.ts';

const reportOf = (clipOutputDbu: number | null) => ({ readings: [], remarks: [], nodeVolts: {}, clipOutputDbu });

describe('headroom along the path', () => {
  const { bench } = makeBench();
  const levels = { s1: 4, s2: 10, s3: 10 };

  it('is a level in dBu and dBFS, and decibels to where a stage gives out; the least is named', () => {
    const { joints, first } = headroomAlong(withLive(bench.state, { jointLevelsDbu: levels, reports: { s1: reportOf(22), s2: reportOf(19.5), s3: reportOf(null) } }));
    expect(joints).toEqual([
      { key: 's1', levelDbu: 4, levelDbfs: -20, marginDb: 18 }, { key: 's2', levelDbu: 10, levelDbfs: -14, marginDb: 9.5 }, { key: 's3', levelDbu: 10, levelDbfs: -14, marginDb: null },
    ]);
    expect(first).toEqual({ key: 's2', marginDb: 9.5 });
  });

  it('may end at full scale first, by the calibration', () => {
    bench.dispatch({ kind: 'calibration', fullScaleDbu: 18 });
    const { first } = headroomAlong(withLive(bench.state, { jointLevelsDbu: levels, reports: { s1: reportOf(22), s2: reportOf(19.5) } }));
    expect(first).toEqual({ key: 'full-scale', marginDb: 8 });
  });

  it('leaves out what is out of circuit and says nothing of silence or before levels are known', () => {
    bench.dispatch({ kind: 'stage-in-out', stageKey: 's2', inCircuit: false });
    expect(headroomAlong(withLive(bench.state, { jointLevelsDbu: levels })).joints.map(({ key }) => key)).toEqual(['s1', 's3']);
    expect(headroomAlong(bench.state)).toEqual({ joints: [], first: null });
    expect(headroomAlong(withLive(bench.state, { jointLevelsDbu: { s1: -Infinity }, reports: { s1: reportOf(22) } })).first).toBeNull();
  });
});
