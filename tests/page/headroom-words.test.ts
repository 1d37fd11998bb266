import { describe, expect, it } from 'vitest';
import type { PathHeadroom } from '../../dsp/measure/index.ts';
import { withLive } from '../../ui/page/changes.ts';
import { headroomWords } from '../../ui/page/headroom-words.ts';
import { makeBench } from './support.ts';

const stage = (key: string, levelDbu: number, clipDbu: number | null, rails: PathHeadroom['stages'][number]['rails'] = []): PathHeadroom['stages'][number] => ({
  key, title: `${key} title`, levelDbu, levelDbfs: levelDbu - 24, clipDbu, clipDbfs: clipDbu === null ? null : clipDbu - 24, clipMarginDb: clipDbu === null ? null : clipDbu - levelDbu, rails,
});
const rails = [{ rail: 'VCC', volts: 24, node: 'collector', marginDb: 12.34 }];
const headroom: PathHeadroom = {
  frequencyHz: 1000, sourceDbu: 4, sourceDbfs: -20, fullScaleDbu: 24, fullScaleMarginDb: 14,
  stages: [stage('s1', 4, 17.5, rails), stage('s2', 10, 8, rails), stage('s3', 10, null), stage('surroundings load', 9.8, null)],
  first: { key: 's2', title: 's2 title', marginDb: -2, limit: 'clip point' },
};

describe('headroom in words', () => {
  const { bench } = makeBench();
  const words = (openStageKey: string, change: Partial<PathHeadroom> = {}) => headroomWords({
    ...withLive(bench.state, { headroom: { ...headroom, ...change } }), session: { ...bench.state.session, openStageKey },
  })!;

  it('names each joint as the strip does, with what is left to the clip point', () => {
    const { rows, first, fullScale } = words('s1');
    expect(rows.map(({ name, left }) => [name, left])).toEqual([['1 single-ended', '13.5 dB left'], ['2 push-pull', '2.0 dB beyond'], ['3 shaping', ''], ['surroundings load title', '']]);
    expect(first).toBe('First to give out: 2 push-pull, 2.0 dB beyond its clip point.');
    expect(fullScale).toBe('14.0 dB left to full scale at the end');
  });

  it('shows the rails of the open stage and of the first to give out only', () => {
    expect(words('s1').rows.map((row) => row.rails.length)).toEqual([1, 1, 0, 0]);
    expect(words('s3').rows.map((row) => row.rails.length)).toEqual([0, 1, 0, 0]);
    expect(words('s1').rows[0]!.rails).toEqual([{ label: 'VCC, at collector', left: '12.3 dB left' }]);
  });

  it('says nothing where nothing gives out, or before it is known', () => {
    expect(words('s1', { first: null, fullScaleMarginDb: Infinity })).toMatchObject({ first: '', fullScale: '' });
    expect(headroomWords(bench.state)).toBeNull();
  });

  it('is taken from the engine unless it is older than the path', () => {
    const { revision } = bench.state.live;
    bench.dispatch({ kind: 'headroom', revision: revision - 1, headroom });
    expect(bench.state.live.headroom).toBeNull();
    bench.dispatch({ kind: 'headroom', revision, headroom });
    expect(bench.state.live.headroom).toBe(headroom);
  });
});
