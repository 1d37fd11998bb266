/** What the bench opens with, measured at the first look's probe: 200 Hz, +4 dBu, the whole path at 384 kHz. */
import { expect, it } from 'vitest';
import { chooseFrequency, cosineDrive, harmonicFigures } from '../../dsp/circuit/index.ts';
import { dbuToPeakVolts, defaultValues, openingPath, stageById, stages } from '../../dsp/stages/index.ts';
import type { OutputNetwork, StageValues } from '../../dsp/stages/index.ts';
import { rateHz, steadyOutput } from './support/tone.ts';

const hz = 200;
const orders = [2, 3, 4, 5, 6, 7, 8, 9, 10];
type Opened = { readonly stage: string; readonly values: StageValues };

/** The whole path's harmonics in dB by order, each stage loaded by the one before. */
function harmonics(path: readonly Opened[]): Record<number, number> {
  const frequency = chooseFrequency(hz, rateHz);
  let wave = cosineDrive(frequency, dbuToPeakVolts(4));
  let source: OutputNetwork | null = null;
  for (const { stage: id, values } of path) {
    const stage = stageById(id);
    wave = steadyOutput(stage.program(values, { rateHz, source }), wave, frequency.cycles);
    source = stage.outputNetwork(values);
  }
  return Object.fromEntries(harmonicFigures(wave, frequency.cycles, orders).harmonics.map(({ order, db }) => [order, db]));
}

const withDefaultCurrent = (path: readonly Opened[]): Opened[] =>
  path.map(({ stage, values }) => ({ stage, values: stage === 'push-pull' ? { ...values, quiescentAmperes: defaultValues(stageById(stage))['quiescentAmperes']! } : values }));

/** dB re the fundamental by order, as the solver found them: quiescent current 150 µA, then its default 2.6 mA (H5, H7, H9 then −144, −165, −206). */
const measured = { opened: { 2: -54.2, 3: -42.3, 5: -50.5, 7: -57.1, 9: -62.6 }, mended: { 2: -54.1, 3: -67.3 } };
const harsh = [5, 7, 9];

it('opens with three stages in circuit, every value complete and none refused', () => {
  const path = openingPath();
  expect(path.map(({ stage }) => stage)).toEqual(['single-ended-bipolar', 'push-pull', 'harmonic-shaping']);
  for (const { stage: id, inCircuit, values } of path) {
    const stage = stages.find((candidate) => candidate.id === id)!;
    expect(inCircuit).toBe(true);
    expect(Object.keys(values)).toEqual(stage.parameters.map((parameter) => parameter.id));
    expect(stage.refuse(values)).toBeNull();
  }
});

it('shows H5, H7 and H9 clearly above −80 dB, and one value takes each down by 20 dB or more', () => {
  const opened = harmonics(openingPath());
  const mended = harmonics(withDefaultCurrent(openingPath()));
  for (const order of harsh) {
    expect(opened[order], `H${order} as opened`).toBeGreaterThan(-70);
    expect(opened[order]! - mended[order]!, `H${order} falls by`).toBeGreaterThan(20);
  }
  for (const [order, db] of Object.entries(measured.opened)) expect(Math.abs(opened[Number(order)]! - db), `H${order} as opened: ${opened[Number(order)]}`).toBeLessThan(0.5);
  for (const [order, db] of Object.entries(measured.mended)) expect(Math.abs(mended[Number(order)]! - db), `H${order} mended: ${mended[Number(order)]}`).toBeLessThan(0.5);
});

