/** The equaliser's prototypes and what they say of themselves, against reference rows and figures known from elsewhere. */
import { describe, expect, it } from 'vitest';
import { resolveValues, stageById } from '../../dsp/stages/index.ts';
import type { StageReport, StageValues } from '../../dsp/stages/index.ts';
import { prototypeOf, sectionsOf, shelfQuality } from '../../dsp/stages/equaliser/prototype.ts';
import type { Bell, Shelf } from '../../dsp/stages/equaliser/prototype.ts';
import { bandwidthOctaves, bellReadOuts, bellSteepest, sectionCurve, shelfReadOuts } from '../../dsp/stages/equaliser/read-outs.ts';
import { slopeAt } from '../../dsp/stages/shared/response-read-outs.ts';
import { parameters } from '../../dsp/stages/equaliser/table.ts';
import { check, checksOf, expectedNumbers, expectWithin, numberInput } from '../reference/checks.ts';
import { cookbook, directFormDb, prescribedBell } from './support/published-sections.ts';

const stage = stageById('equaliser');
const allOff: StageValues = Object.fromEntries([1, 2, 3, 4, 5, 6].map((n) => [`section${n}Kind`, 'off']));
const equaliser = (given: StageValues): StageValues => resolveValues(stage, { ...allOff, ...given });
const reportOf = (given: StageValues): StageReport => {
  const values = equaliser(given);
  return stage.report(values, stage.program(values, { rateHz: 384_000, source: null }));
};

const shelf = (db: number, order: Shelf['order'], zeroQuality = 1, poleQuality = zeroQuality, kind: Shelf['kind'] = 'low-shelf'): Shelf =>
  ({ kind, number: 1, hertz: 1000, db, order, zeroQuality, poleQuality });
const steep = (db: number, steepness: number): Shelf => shelf(db, 'second', shelfQuality(db, steepness));
const bell = (db: number, quality: number, hertz = 1000): Bell => ({ kind: 'bell', number: 1, hertz, db, quality, classicQuality: quality * 10 ** (Math.abs(db) / 40) });

describe('first-order shelf', () => {
  it.each(checksOf('SHELF1-SLOPE').map((row) => ({ id: row.id, row })))('$id', ({ row }) => {
    const { steepest, halfGainHz } = shelfReadOuts(shelf(numberInput(row, 'boost_dB'), 'first', 1, 1, 'high-shelf'));
    expectWithin(row, steepest.dbPerOctave);
    expect(Math.abs(steepest.hz / halfGainHz - 1)).toBeLessThan(1e-3);
  });

  it.each(checksOf('SHELF1-BOOST').map((row) => ({ id: row.id, row })))('$id: by bisection', ({ row }) => {
    expectWithin(row, boostFor(numberInput(row, 'slope_dB_per_oct'), (db) => shelfReadOuts(shelf(db, 'first')).steepest.dbPerOctave));
  });
});

/** Boost at which a low shelf falls this steeply. */
function boostFor(slope: number, slopeOf: (db: number) => number): number {
  let [low, high] = [0.1, 18];
  for (let round = 0; round < 40; round += 1) {
    const middle = (low + high) / 2;
    if (Math.abs(slopeOf(middle)) < slope) low = middle;
    else high = middle;
  }
  return low;
}

describe('second-order shelf', () => {
  it.each(checksOf('SHELF2-SLOPE').map((row) => ({ id: row.id, row })))('$id', ({ row }) => {
    expectWithin(row, -slopeAt(sectionCurve(steep(numberInput(row, 'boost_dB'), numberInput(row, 'S'))), 1000));
  });

  it.each(checksOf('SHELF2-BOOST').map((row) => ({ id: row.id, row })))('$id: by bisection', ({ row }) => {
    expectWithin(row, boostFor(numberInput(row, 'slope_dB_per_oct'), (db) => slopeAt(sectionCurve(steep(db, 1)), 1000)));
  });

  it.each(checksOf('SHELF2-3DB').map((row) => ({ id: row.id, row })))('$id', ({ row }) => {
    const [steepness] = expectedNumbers(row);
    const each = steep(numberInput(row, 'boost_dB'), steepness!);
    const { undershoot, overshoot, steepest } = shelfReadOuts(each);
    expectWithin(row, [steepness!, each.poleQuality, undershoot?.db ?? 0, undershoot === null ? 0 : undershoot.hz / 1000, Math.abs(steepest.dbPerOctave)]);
    // By symmetry the top overshoots by as much as the foot dips.
    expect(Math.abs((overshoot?.db ?? 0) + (undershoot?.db ?? 0))).toBeLessThan(1e-9);
  });

  it.each(checksOf('SHELF2-DIP').map((row) => ({ id: row.id, row })))('$id', ({ row }) => {
    const { undershoot, steepest } = shelfReadOuts(steep(numberInput(row, 'boost_dB'), numberInput(row, 'S')));
    expectWithin(row, [undershoot!.db, undershoot!.hz / 1000, Math.abs(steepest.dbPerOctave)]);
  });

  // Pole and zero apart by the root of the gain: figures worked out by hand for the two shelves, to their last digit printed.
  it.each([
    { db: 6, zero: 0.8, pole: 0.7, dip: 0.31, slope: 4.6, octaves: 0.95 },
    { db: 12, zero: 0.7, pole: 0.5, dip: 0.23, slope: null, octaves: 1.87 },
  ])('$db dB, zero Q $zero, pole Q $pole: dips $dip dB, no overshoot, $octaves octaves of 3 dB/octave or more', ({ db, zero, pole, dip, slope, octaves }) => {
    for (const kind of ['low-shelf', 'high-shelf'] as const) {
      const { undershoot, overshoot, steepest, steepOctaves } = shelfReadOuts(shelf(db, 'second-apart', zero, pole, kind));
      expect(Math.abs(-undershoot!.db - dip)).toBeLessThanOrEqual(0.005);
      expect(overshoot).toBeNull();
      if (slope !== null) expect(Math.abs(Math.abs(steepest.dbPerOctave) - slope)).toBeLessThanOrEqual(0.05);
      expect(Math.abs(steepOctaves - octaves)).toBeLessThanOrEqual(0.005);
      expect(undershoot!.hz > 1000).toBe(kind === 'low-shelf');
    }
  });

  it.each(['first', 'second'] as const)('has half its decibels at turnover and all of them far off: %s order, either kind, boost and cut', (order) => {
    for (const kind of ['low-shelf', 'high-shelf'] as const) {
      for (const db of [-18, -3, 4, 18]) {
        const curve = sectionCurve(shelf(db, order, 0.9, 0.9, kind));
        const far = kind === 'low-shelf' ? 1000 / 4096 : 1000 * 4096;
        expect(Math.abs(curve(1000) - db / 2)).toBeLessThan(1e-9);
        // A first-order shelf of 18 dB comes within its limit with the square of the distance.
        expect(Math.abs(curve(far) - db)).toBeLessThan(1e-5);
        expect(Math.abs(curve(1e6 / far))).toBeLessThan(1e-5);
      }
    }
  });

  it('says where one with its Qs apart has half its decibels', () => {
    for (const kind of ['low-shelf', 'high-shelf'] as const) {
      for (const db of [-12, 6]) {
        const apart = shelf(db, 'second-apart', 0.9, 0.5, kind);
        const { halfGainHz } = shelfReadOuts(apart);
        expect(Math.abs(sectionCurve(apart)(halfGainHz) - db / 2)).toBeLessThan(1e-9);
        expect(halfGainHz).not.toBe(1000);
      }
    }
  });
});

describe('bell', () => {
  it.each(checksOf('BELL-Q-BW').map((row) => ({ id: row.id, row })))('$id', ({ row }) => {
    const [quality] = expectedNumbers(row);
    const octaves = numberInput(row, 'BW_oct');
    expect(Math.abs(bandwidthOctaves(quality!) / octaves - 1)).toBeLessThan(1e-6);
    const { edges } = bellReadOuts(bell(6, quality!));
    expect(Math.abs(Math.log2(edges[1] / edges[0]) / octaves - 1)).toBeLessThan(1e-6);
    for (const db of [-9, 6]) for (const edge of edges) expect(Math.abs(sectionCurve(bell(db, quality!))(edge) - db / 2)).toBeLessThan(1e-9);
  });

  it.each(checksOf('BELL-SLOPE').map((row) => ({ id: row.id, row })))('$id', ({ row }) => {
    const each = bell(numberInput(row, 'gain_dB'), numberInput(row, 'Q'));
    expectWithin(row, [Math.abs(bellSteepest(each).dbPerOctave), sectionCurve(each)(2000)]);
  });

  it.each(checksOf('BELL-2k').map((row) => ({ id: row.id, row })))('$id', ({ row }) => {
    expectWithin(row, [500, 1000, 1500, 1800, 2000, 2200, 3000, 4000].map(sectionCurve(bell(numberInput(row, 'gain_dB'), numberInput(row, 'Q'), 2000))));
  });

  it('BELL-CRAMP-ANALOG', () => {
    expectWithin(check('BELL-CRAMP-ANALOG'), [5e3, 8e3, 10e3, 12e3, 16e3, 20e3].map(sectionCurve(bell(6, 1, 10e3))));
  });

  it('means by its classic Q the width 3 dB under the top of a boost, and above the bottom of a cut', () => {
    for (const db of [-18, -6, 4, 12]) {
      const [section] = sectionsOf(equaliser({ section1Kind: 'bell', section1Db: db, section1Quality: 5, section1QualityIs: 'three-decibel' })) as [Bell];
      const { denominator, numerator } = prototypeOf(section);
      expect(Math.abs(1 / (db > 0 ? denominator : numerator)[1] - 5)).toBeLessThan(1e-12);
      expect(Math.abs(section.quality * 10 ** (Math.abs(db) / 40) - 5)).toBeLessThan(1e-12);
    }
  });

  it('has the Q asked for at 12 dB, and less for less, where it goes with the amount', () => {
    const qualityAt = (db: number, asked = 6): number =>
      (sectionsOf(equaliser({ section1Kind: 'bell', section1Db: db, section1Quality: asked, section1QualityLaw: 'proportional' }))[0] as Bell).quality;
    expect([12, -12, 6, 3, 18].map((db) => qualityAt(db))).toEqual([6, 6, 3, 1.5, 9]);
    expect([qualityAt(18, 30), qualityAt(0)]).toEqual([30, 0.1]);
  });

  it('rings for 2.2 Q/f0 with the Q of its poles: the decay of an impulse through it', () => {
    for (const [db, quality] of [[12, 8], [-12, 8], [6, 20]] as const) {
      const values = equaliser({ section1Kind: 'bell', section1Hz: 1000, section1Db: db, section1Quality: quality });
      const { poleQuality, ringingSeconds } = bellReadOuts(sectionsOf(values)[0] as Bell);
      expect(Math.abs((ringingSeconds! * 1000) / poleQuality / 2.2 - 1)).toBeLessThan(1e-3);
      // Envelope e^(−t/τ) of the pole −1/(2 Q) ω0: τ = Q/(π f0).
      const { denominator } = prototypeOf(sectionsOf(values)[0]!);
      const secondsPerNeper = 2 / (denominator[1] * 2 * Math.PI * 1000);
      expect(Math.abs((secondsPerNeper * Math.log(1000)) / ringingSeconds! - 1)).toBeLessThan(1e-9);
    }
  });
});

describe('published sampled designs, for comparison', () => {
  it.each(['COOK-BELL', 'COOK-LOW', 'COOK-HIGH'])('%s and its response', (id) => {
    const row = check(id);
    const given = row.inputs as { type: 'bell' | 'low' | 'high'; Q: number | null; S: number | null };
    const rateHz = numberInput(row, 'fs_Hz');
    const section = cookbook({
      type: given.type, hertz: numberInput(row, 'f0_Hz'), rateHz, db: numberInput(row, 'gain_dB'), ...(given.Q === null ? {} : { quality: given.Q }), ...(given.S === null ? {} : { steepness: given.S }),
    });
    expectWithin(row, section);
    expectWithin(check(`${id}-RESP`), [100, 200, 1000, 2000, 5000, 10_000].map((hz) => directFormDb(section, hz, rateHz)));
  });

  it.each([['BELL-CRAMP-48k', 48_000], ['BELL-CRAMP-192k', 192_000]] as const)('%s', (id, rateHz) => {
    const section = cookbook({ type: 'bell', hertz: 10e3, rateHz, db: 6, quality: 1 });
    expectWithin(check(id), [5e3, 8e3, 10e3, 12e3, 16e3, 20e3].map((hz) => directFormDb(section, hz, rateHz)));
  });

  it.each(checksOf('ORF-').map((row) => ({ id: row.id, row })))('$id, and its four conditions', ({ row }) => {
    const [hertz, rateHz, db, bandwidthHz] = ['f0_Hz', 'fs_Hz', 'gain_dB', 'bandwidth_Hz_at_half_dB_gain'].map((name) => numberInput(row, name)) as [number, number, number, number];
    const { section, nyquistGain } = prescribedBell({ hertz, rateHz, db, bandwidthHz });
    expectWithin(row, [...section, 20 * Math.log10(nyquistGain)]);
    const gainDb = (hz: number): number => directFormDb(section, hz, rateHz);
    expect(Math.abs(gainDb(0))).toBeLessThan(1e-9);
    expect(Math.abs(gainDb(hertz) - db)).toBeLessThan(1e-9);
    expect(Math.abs(gainDb(rateHz / 2) - 20 * Math.log10(nyquistGain))).toBeLessThan(1e-9);
  });

  // How far a prewarped bilinear design is off at 352.8 kHz, up to 20 kHz, all +12 dB: figures worked out before this bench.
  it.each([
    { what: 'shelf at 12 kHz', type: 'high', hertz: 12e3, steepness: 1, off: 0.037 },
    { what: 'bell 10 kHz, Q 1', type: 'bell', hertz: 10e3, quality: 1, off: 0.062 },
    { what: 'bell 18 kHz, Q 10', type: 'bell', hertz: 18e3, quality: 10, off: 0.09 },
  ] as const)('rate alone does not make them exact: $what is $off dB off', ({ off, ...inputs }) => {
    const section = cookbook({ ...inputs, rateHz: 352_800, db: 12 });
    const analogue = sectionCurve('quality' in inputs ? bell(12, inputs.quality, inputs.hertz) : { ...steep(12, 1), kind: 'high-shelf', hertz: inputs.hertz });
    let worst = 0;
    for (let hz = 20; hz <= 20_000; hz += 10) worst = Math.max(worst, Math.abs(directFormDb(section, hz, 352_800) - analogue(hz)));
    expect(Math.abs(worst - off), `${worst} dB`).toBeLessThanOrEqual(0.005);
  });
});

describe('what the stage says', () => {
  const labelled = ({ readings }: StageReport, label: string): number | undefined => readings.find((reading) => reading.label === label)?.value;

  it('gives slope, octaves and undershoot of a shelf, and says in words when it is only a broad tilt', () => {
    const shelved = { section2Kind: 'high-shelf', section2Db: 6, section2Order: 'second-apart', section2ZeroQ: 0.8, section2PoleQ: 0.7 };
    const report = reportOf(shelved);
    expect(Math.abs(labelled(report, '2 shelf, steepest')! - 4.6)).toBeLessThan(0.05);
    expect(Math.abs(labelled(report, '2 shelf, steep over')! - 0.95)).toBeLessThan(0.005);
    expect(Math.abs(labelled(report, '2 shelf, undershoot')! + 0.31)).toBeLessThan(0.005);
    expect(report.remarks.map(({ words }) => words).join()).not.toContain('broad tilt');
    const tilt = reportOf({ ...shelved, section2Order: 'first' });
    expect(tilt.remarks.find(({ label }) => label === '2 high shelf')!.words).toMatch(/never reaches 3 dB\/octave \(2\.0 at most\).*broad tilt \(common practice, no source\)/);
  });

  it('gives Q, bandwidth and ringing of a bell, and its own error', () => {
    const report = reportOf({ section4Kind: 'bell', section4Hz: 1000, section4Db: 12, section4Quality: 8 });
    expect(labelled(report, '4 bell, Q')).toBe(8);
    expect(Math.abs(labelled(report, '4 bell, bandwidth')! - 2 * Math.asinh(1 / 16) / Math.LN2)).toBeLessThan(1e-12);
    expect(Math.abs(labelled(report, '4 bell, ringing')! - (2.2 * 8 * 10 ** (12 / 40)) / 1000)).toBeLessThan(2e-5);
    const error = labelled(report, 'off the analogue curve')!;
    expect(error > 0 && error <= 0.02).toBe(true);
  });

  it('draws the sum, each section that is on, and marks where they happen', () => {
    const values = equaliser({ section1Kind: 'bell', section1Db: -4, section3Kind: 'low-shelf', section3Db: 12, section3Steepness: 1.2 });
    const curve = stage.curve!(values, 384_000);
    expect(curve.traces.map(({ label, role }) => [label, role])).toEqual([['sum', 'whole'], ['1 bell', 'part'], ['3 low shelf', 'part']]);
    expect([curve.hertz[0], curve.hertz.at(-1)!]).toEqual([20, expect.closeTo(20e3, 6)]);
    curve.hertz.forEach((_, k) => {
      const [sum, first, third] = curve.traces.map(({ db }) => db[k]!) as [number, number, number];
      expect(Math.abs(sum - first - third)).toBeLessThan(1e-9);
    });
    expect(new Set(curve.marks.map(({ kind, section }) => `${section} ${kind}`))).toEqual(new Set(['1 bandwidth', '3 steepest', '3 steep-span', '3 undershoot', '3 turnover']));
    expect(curve.caption).toMatch(/^1 bell -4 dB at 2 kHz, 3 low shelf \+12 dB at 100 Hz\. Analogue curve kept within 0\.0\d+ dB to 20 kHz\.$/);
  });

  it('shows only the values that do something', () => {
    expect(stage.relevant!(equaliser({}))).toEqual(['section1Kind', 'section2Kind', 'section3Kind', 'section4Kind', 'section5Kind', 'section6Kind', 'makeUpDb']);
    expect(stage.relevant!(equaliser({ section2Kind: 'low-shelf', section2Order: 'first' }))).toContain('section2Order');
    const ids = parameters.map(({ id }) => id);
    for (const order of ['first', 'second', 'second-apart']) {
      const shown = stage.relevant!(equaliser({ section2Kind: 'low-shelf', section2Order: order, section1Kind: 'bell' }));
      expect(shown.map((id) => ids.indexOf(id))).toEqual([...shown.map((id) => ids.indexOf(id))].sort((a, b) => a - b));
      // A value that is not shown does not change the curve.
      for (const parameter of parameters) {
        if (shown.includes(parameter.id)) continue;
        const ends = parameter.kind === 'number' ? [parameter.minimum, parameter.maximum] : parameter.options.map((option) => option.id);
        const curves = ends.map((value) => stage.transfer!(equaliser({ section2Kind: 'low-shelf', section2Db: 5, section2Order: order, section1Kind: 'bell', [parameter.id]: value }), [50, 5000]));
        for (const curve of curves) expect(curve, parameter.id).toEqual(curves[0]);
      }
    }
  });

  it('begins with a shelf of 3 to 3.5 dB an octave and a small undershoot, and a bell near 2 kHz (PRAC-SHELF-SLOPE, PRAC-SHELF-DIP, PRAC-BELL-FOCUS)', () => {
    const values = resolveValues(stage, {});
    const [focus, air] = sectionsOf(values) as [Bell, Shelf];
    const { steepest, undershoot } = shelfReadOuts(air);
    const [least, most] = expectedNumbers(check('PRAC-SHELF-SLOPE'));
    expect(steepest.dbPerOctave >= least! && steepest.dbPerOctave <= most!).toBe(true);
    expect(undershoot!.db < -0.02 && undershoot!.db > -0.2).toBe(true);
    expect([focus.kind, focus.hertz]).toEqual(['bell', expectedNumbers(check('PRAC-BELL-FOCUS'))[0]]);
  });
});
