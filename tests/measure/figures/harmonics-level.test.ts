import { describe, expect, it } from 'vitest';
import { factsOf, subjectOfDocument, subjectOfSetting } from '../../../dsp/measure/figures/index.ts';
import { harmonicsAgainstLevel } from '../../../dsp/measure/figures/harmonics-level.ts';
import { openingSetting } from '../../../dsp/setting/index.ts';
import { installCompiledCode } from '../../../ui/command-line/compiled-code.ts';
import { nearClassBDesign } from '../../support/documents.ts';
import { unstableOpAmpLoop } from '../../support/unstable.ts';
import { columnOf, dbuPeak, exponentialSubject, figureOf, harmonicsOfLaw, internalRateHz, lineOf, pointsOf, tanhSubject, thermalVolts300, toDb, valuesOf } from './laws.ts';

installCompiledCode();

const { path, joints } = openingSetting();
const opening = subjectOfSetting({ path, joints, baseRateHz: 48_000, scope: { kind: 'path' }, programme: null });

describe('harmonics against level', () => {
  it('of tanh are those of its law at every level, into hard clipping', () => {
    const figure = figureOf(harmonicsAgainstLevel, tanhSubject(0.5), { fromDbu: -40, toDbu: 10, levels: 11 });
    const [amounts, gain] = figure.panels;
    for (const order of [3, 5, 7]) {
      const line = lineOf(amounts!, `H${order}`);
      expect(line.length).toBeGreaterThan(5);
      for (const { x, y } of line) {
        const peaks = harmonicsOfLaw((v) => Math.tanh(v / 0.5), dbuPeak(x), order);
        const expected = toDb(peaks[order]! / peaks[1]!);
        // 0.001 dB down to −140 dB: the solver's own tolerance; what is quieter is within 0.1 dB.
        expect(Math.abs(y - expected) <= (expected > -140 ? 1e-3 : 0.1), `H${order} at ${x} dBu: expected ${expected}, got ${y}`).toBe(true);
      }
    }
    // Even orders of an odd law are rounding: nothing is drawn.
    for (const order of [2, 4, 6]) expect(lineOf(amounts!, `H${order}`)).toEqual([]);
    const smallGain = harmonicsOfLaw((v) => Math.tanh(v / 0.5), dbuPeak(-40), 1)[1]! / dbuPeak(-40);
    for (const { x, y } of lineOf(gain!, 'gain')) {
      const expected = toDb(harmonicsOfLaw((v) => Math.tanh(v / 0.5), dbuPeak(x), 1)[1]! / dbuPeak(x) / smallGain);
      expect(Math.abs(y - expected) <= 1e-4, `gain at ${x} dBu: expected ${expected}, got ${y}`).toBe(true);
    }
  });

  it('of a transistor rise by 1, 2 and 3 dB for a decibel, and reach 1 % where its exponential does', () => {
    const figure = figureOf(harmonicsAgainstLevel, exponentialSubject(), { fromDbu: -75, toDbu: -35, levels: 41, highestOrder: 5 });
    for (const order of [2, 3, 4]) {
      const line = lineOf(figure.panels[0]!, `H${order}`).filter(({ x }) => x <= -60);
      const slope = (line.at(-1)!.y - line[0]!.y) / (line.at(-1)!.x - line[0]!.x);
      // 0.01 dB/dB: the next term of I_n at −60 dBu, where the peak is 1.1 mV against 25.9 mV.
      expect(Math.abs(slope - (order - 1)) <= 0.01, `H${order}: ${slope} dB/dB`).toBe(true);
    }
    const thdAt = (dbu: number): number => {
      const [, first, ...higher] = harmonicsOfLaw((v) => Math.exp(v / thermalVolts300), dbuPeak(dbu), 5);
      return Math.sqrt(higher.reduce((sum, peak) => sum + (peak / first!) ** 2, 0));
    };
    let low = -75;
    let high = -35;
    while (high - low > 1e-6) {
      if (thdAt((low + high) / 2) < 0.01) low = (low + high) / 2;
      else high = (low + high) / 2;
    }
    const [mark] = figure.panels[0]!.marks;
    // 0.01 dB: straight lines between levels a decibel apart.
    expect(Math.abs(mark!.x! - low) <= 0.01, `expected ${low}, got ${mark!.x!}`).toBe(true);
    expect(figure.caption).toContain(`THD first reaches 1 % at −${Math.abs(low).toFixed(1)} dBu`);
  });

  it('of a near class B pair say that odd orders are stronger at lower levels', () => {
    const figure = figureOf(harmonicsAgainstLevel, subjectOfDocument(nearClassBDesign.document(), internalRateHz), { fromDbu: -20, toDbu: 10, levels: 16 });
    const third = lineOf(figure.panels[0]!, 'H3');
    const at = (dbu: number): number => third.find(({ x }) => Math.abs(x - dbu) < 1e-9)!.y;
    expect(at(4) < at(-6) - 3).toBe(true);
    expect(figure.caption).toMatch(/H3(, H5)?(, H7)? (is|are) stronger at lower levels, as of a crossover/);
  });

  it('are the same to the bit by one worker or many, whatever is measured before', () => {
    const values = valuesOf(harmonicsAgainstLevel, { levels: 25 });
    interface Row { readonly index: number; readonly db: readonly number[]; readonly thd: number }
    const rows = (workers: number): Row[] => (pointsOf(harmonicsAgainstLevel, opening, values, workers) as Row[][]).flat().sort((a, b) => a.index - b.index);
    const [one, many] = [rows(1), rows(6)];
    expect(one.map(({ index }) => index)).toEqual(Array.from({ length: 25 }, (_, k) => k));
    expect(many).toEqual(one);
  });

  it('show an outline of the whole range first, then what lies between; what has not come is not drawn', () => {
    const values = valuesOf(harmonicsAgainstLevel);
    const parts = harmonicsAgainstLevel.split(factsOf(opening), values, 2) as { indices: number[] }[];
    expect(parts.flatMap(({ indices }) => indices).sort((a, b) => a - b)).toEqual(Array.from({ length: 61 }, (_, k) => k));
    expect(parts[0]!.indices.slice(0, 5)).toEqual([0, 16, 32, 48, 60]);
    const steps = harmonicsAgainstLevel.measure(opening, values, parts[0]);
    let first = steps.next();
    while (first.value === undefined) first = steps.next();
    const figure = harmonicsAgainstLevel.draw(factsOf(opening), values, [first.value]);
    expect(lineOf(figure.panels[0]!, 'H2').map(({ x }) => x)).toEqual([-60]);
    expect(figure.caption).toContain('(1 of 61 levels so far)');
    expect(harmonicsAgainstLevel.draw(factsOf(opening), values, parts.map(() => undefined)).panels[0]!.traces[0]!.x.length).toBe(0);
  });

  it('leave out orders beyond half the internal rate, and say so', () => {
    const figure = figureOf(harmonicsAgainstLevel, tanhSubject(0.5), { frequencyHz: 20_000, fromDbu: -10, toDbu: 0, levels: 2, highestOrder: 20 });
    expect(figure.panels[0]!.traces.map(({ id }) => id)).toEqual(['THD', 'H2', 'H3', 'H4', 'H5', 'H6', 'H7', 'H8', 'H9']);
    expect(figure.remarks.join(' ')).toContain('Orders from 10 on lie above half the internal rate');
  });

  it('are refused of a circuit that oscillates and of levels that do not rise, in a sentence', () => {
    expect(() => figureOf(harmonicsAgainstLevel, subjectOfDocument(unstableOpAmpLoop(1e-8), internalRateHz))).toThrow(/^The circuit oscillates or is bistable/);
    expect(() => figureOf(harmonicsAgainstLevel, opening, { fromDbu: 4, toDbu: 4 })).toThrow('expected a highest above the lowest, got +4.0 dBu to +4.0 dBu');
  });

  it('stand in a table with the slopes, of one stage too, at the level that reaches it', () => {
    const figure = figureOf(harmonicsAgainstLevel, { ...opening, scope: { kind: 'stage', key: 's1' } }, { fromDbu: -40, toDbu: 10, levels: 26 });
    expect(figure.title).toMatch(/^Harmonics against level, stage 1 Single-ended/);
    const [levels, slopes] = figure.tables;
    expect(columnOf(levels!, 'source')).toHaveLength(26);
    expect(columnOf(slopes!, 'harmonic')).toEqual(['H2', 'H3', 'H4', 'H5', 'H6', 'H7', 'H8', 'H9', 'H10']);
    // A small-signal second harmonic: 1 dB for a decibel within 0.05.
    expect(Math.abs(Number(columnOf(slopes!, 'slope at +4 dBu')[0]) - 1) <= 0.05).toBe(true);
  });
});
