import { describe, expect, it } from 'vitest';
import type { PathSetting, PathStage } from '../../dsp/path/index.ts';
import { supply } from '../../dsp/path/index.ts';
import { changeLine, largestMovementDb, lineWords, openingSetting, orderChanges, orderLevelWords, pathChanges } from '../../dsp/setting/index.ts';
import type { Measurement } from '../../dsp/setting/index.ts';
import { defaultValues, stageById } from '../../dsp/stages/index.ts';
import type { NumberParameter } from '../../dsp/stages/index.ts';

const opening = openingSetting().path;
const words = (was: PathSetting, now: PathSetting) => pathChanges(was, now).map((change) => lineWords(changeLine(change)));
const withStages = (stages: readonly PathStage[]): PathSetting => ({ ...opening, stages });
const [first, second, third] = opening.stages as [PathStage, PathStage, PathStage];
const stage = (id: string, key: string): PathStage => ({ key, stage: id, inCircuit: true, reversed: false, joined: false, values: defaultValues(stageById(id)) });

describe('changes between two paths', () => {
  it('are none between equals, whatever the keys', () => {
    expect(pathChanges(opening, opening)).toEqual([]);
    expect(pathChanges(opening, withStages(opening.stages.map((each, index) => ({ ...each, key: `k${index}` }))))).toEqual([]);
  });

  it('name a value by its place now, with what it was', () => {
    const raised = withStages([first, { ...second, values: { ...second.values, quiescentAmperes: 0.012 } }, third]);
    expect(words(opening, raised)).toEqual(['2 push-pull IQ: was 150 µA, now 12 mA']);
    expect(pathChanges(opening, raised)[0]).toMatchObject({ kind: 'value', place: { kind: 'stage', index: 1, stage: 'push-pull' }, now: 0.012 });
  });

  it('tell switches of a stage, sheets, calibration and rate', () => {
    const now: PathSetting = {
      ...opening, fullScaleDbu: 18, oversamplingFactor: 4, ladder: 'minimum-latency', supply: defaultValues(supply),
      stages: [{ ...first, inCircuit: false }, { ...second, reversed: true }, { ...third, joined: true }],
    };
    expect(words(opening, now)).toEqual([
      '1 single-ended: was in circuit, now out of circuit', '2 push-pull polarity: was as built, now reversed', '3 shaping joint: was as the probe says, now joined on request',
      'supply: was off, now on', '0 dBFS: was +24 dBu, now +18 dBu', 'rate: was × 8, now × 4', 'ladder: was linear phase, now minimum latency',
    ]);
    const parameter = supply.parameters.find((each): each is NumberParameter => each.kind === 'number')!;
    const other = parameter.default === parameter.maximum ? parameter.minimum : parameter.maximum;
    expect(words(now, { ...now, supply: { ...now.supply!, [parameter.id]: other } })).toHaveLength(1);
    expect(words(now, opening)[3]).toBe('supply: was on, now off');
  });

  it('tell stages that came, went and moved, and their values beside', () => {
    const opAmp = stage('op-amp-integrated', 'x');
    const name = stageById('op-amp-integrated').shortTitle;
    expect(words(opening, withStages([first, opAmp, second, third]))).toEqual([`2 ${name}: was not there, now added`]);
    expect(words(withStages([first, opAmp, second, third]), opening)).toEqual([`2 ${name}: was there, now removed`]);
    expect(words(opening, withStages([second, third, first]))).toEqual(['single-ended: was place 1, now place 3']);
    expect(words(opening, withStages([second, { ...third, reversed: true }, first]))).toEqual(['single-ended: was place 1, now place 3', '2 shaping polarity: was as built, now reversed']);
  });

  it('take the stage whose values agree for the one that stayed, where several of a kind stand', () => {
    const soft = { ...second, values: { ...second.values, quiescentAmperes: 0.03, emitterOhms: 22 } };
    expect(words(withStages([soft, second]), withStages([second]))).toEqual(['1 push-pull: was there, now removed']);
    expect(words(withStages([second]), withStages([soft, second]))).toEqual(['1 push-pull: was not there, now added']);
  });

  it('say there and back what the other says, with was and now exchanged', () => {
    const now: PathSetting = { ...opening, fullScaleDbu: 22, stages: [{ ...first, inCircuit: false }, { ...third, joined: true }] };
    const there = pathChanges(opening, now).map(changeLine);
    const back = pathChanges(now, opening).map(changeLine);
    expect(there.map(({ what }) => what)).toEqual(['2 push-pull', '1 single-ended', '2 shaping joint', '0 dBFS']);
    expect(back.map(({ what }) => what)).toEqual(['2 push-pull', '1 single-ended', '3 shaping joint', '0 dBFS']);
    expect(back.slice(1).map(({ was, now: after }) => [after, was])).toEqual(there.slice(1).map(({ was, now: after }) => [was, after]));
  });
});

const measured = (h2: number, h3: number, change: Partial<Measurement> = {}): Measurement => ({ frequencyHz: 200, levelDbu: 4, fundamentalDbu: 4, orders: [{ order: 2, db: h2 }, { order: 3, db: h3 }, { order: 9, db: -400 }], ...change });

describe('changes between two measurements', () => {
  it('stand order by order, those under the floor both times left out', () => {
    expect(orderChanges(measured(-62.1, -400), measured(-64, -90.25))).toEqual([{ order: 2, wasDb: -62.1, nowDb: -64 }, { order: 3, wasDb: null, nowDb: -90.25 }]);
    expect([orderLevelWords(-62.14), orderLevelWords(null), orderLevelWords(1)]).toEqual(['−62.1 dB', 'under the floor', '1.0 dB']);
  });

  it('are none where one is missing or of another tone', () => {
    expect(orderChanges(null, measured(-62, -90))).toBeNull();
    expect(orderChanges(measured(-62, -90, { levelDbu: 6 }), measured(-62, -90))).toBeNull();
    expect(orderChanges(measured(-62, -90, { frequencyHz: 1000 }), measured(-62, -90))).toBeNull();
    expect(orderChanges(measured(-62, -90, { frequencyHz: 200.2 }), measured(-62, -90))).toHaveLength(2);
  });

  it('of one setting measured again are its largest movement, levels and orders alike', () => {
    expect(largestMovementDb(measured(-62, -90), measured(-62, -90))).toBe(0);
    expect(largestMovementDb(measured(-62, -90), measured(-62.25, -90.5))).toBe(0.5);
    expect(largestMovementDb(measured(-62, -90), measured(-62, -90, { fundamentalDbu: 5 }))).toBe(1);
    expect(largestMovementDb(measured(-62, -141), measured(-62, -150))).toBe(0);
    expect(largestMovementDb(measured(-62, -90), measured(-62, -400))).toBe(310);
  });
});
