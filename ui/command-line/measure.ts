import { buildProgram, measureCircuit } from '../../dsp/circuit/index.ts';
import type { CircuitMeasurement } from '../../dsp/circuit/index.ts';
import { floorDb, judgeOrder, markUnderNoise, measurePath, measureThroughLadder } from '../../dsp/measure/index.ts';
import type { MarkedHarmonic, PathMeasurement, ThroughLadder } from '../../dsp/measure/index.ts';
import { intermodulationSignals } from '../../dsp/measure/tones/index.ts';
import { planPath } from '../../dsp/path/index.ts';
import { ruleWords } from '../../dsp/setting/index.ts';
import { readOrders, readWords } from './arguments.ts';
import type { Options } from './arguments.ts';
import { exitCodes, InputFailure } from './failure.ts';
import { figureOptionsHelp } from './figure-output.ts';
import { measureFigure, measureFigureOptions, wantedFigure } from './measure-figures.ts';
import { measureRecording } from './measure-recording.ts';
import { readSubject, subjectOptions } from './subject.ts';
import type { Subject } from './subject.ts';
import { formatCsv, formatDb, formatDegrees, formatTable, print, printJson } from './table.ts';

export const measureHelp = `measure   (--circuit FILE | --setting FILE) --frequency HZ --peak-volts V [--orders 2-9] [--rate 48000] [--oversampling 8] [--through-ladder] [--json|--csv]

Harmonics in the periodic steady state, driven by a cosine of V peak volts at the input source; in volts at the internal rate, without
the resampling ladder and without noise; where a setting's noise is on, a harmonic weaker than the noise in 1 Hz round it is marked. An oscillating circuit gives no harmonics and exit code 1.
  --through-ladder  of a setting: up the ladder, through the path and down again, as its samples have it; orders below half the rate

measure   (--circuit FILE | --setting FILE [--stage N]) (--figures [--frequency HZ] [--highest-order N] | --intermodulation NAME [--steps internal|finer] | --multitone) [--level-dbu L] [--svg FILE] [--json|--csv]

Figures of a whole path, of one of its stages at its own working level, or of a circuit, each with its convention and source.
  --figures               distortion in single numbers: total, with noise, weighted by order, by the bend of the curve
  --intermodulation NAME  ${intermodulationSignals.map(({ id }) => id).join(', ')}
  --steps finer           of DIM, eight times finer than the internal rate, for what slews
  --multitone             thirty-one tones, and what stands between them by third octaves
  --level-dbu L           at the source, of a sine with the same peak; +4 if absent

measure   --recording FILE [--channel N] (--figures [--frequency HZ] [--highest-order N] | --intermodulation NAME) [--svg FILE] [--json|--csv]

The same of a tone or signal that was recorded as it came out of a device: WAV, AIFF or FLAC. Silence, DC, clipping and other tones are told, not measured.

${figureOptionsHelp}`;

const options = {
  ...subjectOptions,
  ...measureFigureOptions,
  frequency: { type: 'string' },
  'peak-volts': { type: 'string' },
  orders: { type: 'string' },
  'through-ladder': { type: 'boolean' },
} as const satisfies Options;

export async function measure(args: readonly string[]): Promise<number> {
  const words = readWords('measure', args, options);
  if (words.text('recording') !== undefined) return measureRecording(words);
  const figure = wantedFigure(words);
  if (figure !== null) return measureFigure(figure, words);
  const subject = await readSubject('measure', words);
  const internalRateHz = subject.kind === 'circuit' ? subject.internalRateHz : subject.baseRateHz * subject.setting.path.oversamplingFactor;
  const measured = measureSubject(subject, words.flag('through-ladder'), {
    frequencyHz: words.number('frequency', { minimum: 0.1, maximum: internalRateHz / 4 }),
    peakVolts: words.number('peak-volts', { minimum: 1e-9, maximum: 1e6 }),
    orders: readOrders('--orders', words.text('orders') ?? '2-9'),
  });
  if (measured.oscillates) {
    if (words.flag('json')) printJson({ oscillates: true, spectralRadius: measured.spectralRadius });
    else print(`oscillates or is bistable: spectral radius of a period ${measured.spectralRadius.toPrecision(6)}; no harmonics can be given`);
    return exitCodes.checkFailed;
  }
  if (words.flag('json')) {
    printJson(measured);
    return exitCodes.good;
  }
  const { frequencyHz, fundamental, dcVolts, harmonics, thd } = measured;
  const headings = ['order', 'dB', '%', 'signed', 'degrees'];
  const rows = harmonics.map(({ order, ratio, signedRatio, db, phaseDegrees }) => [`H${order}`, formatDb(db, 2), (100 * ratio).toPrecision(3), signedRatio.toExponential(3), formatDegrees(phaseDegrees)]);
  if (words.flag('csv')) {
    print(formatCsv(headings, rows));
    return exitCodes.good;
  }
  print(`${frequencyHz} Hz, fundamental ${fundamental.peakVolts.toPrecision(6)} V peak at ${formatDegrees(fundamental.phaseDegrees)} degrees; ${'restVolts' in measured ? `rest ${measured.restVolts.toPrecision(5)} V, ` : ''}mean while driven ${dcVolts.toPrecision(5)} V`);
  print(formatTable([...headings, ''], rows.map((row, index) => [...row, wordOf(harmonics[index]!)])));
  print(`THD F ${(100 * thd.f).toPrecision(4)} %, R ${(100 * thd.r).toPrecision(4)} % over orders ${harmonics.map(({ order }) => order).join(', ')}`);
  if (!('solver' in measured)) return exitCodes.good;
  const { solver } = measured;
  const { rule, ruleErrorDb } = solver;
  print(`${solver.method}, ${ruleErrorDb === undefined ? rule : ruleWords({ rule, errorDb: ruleErrorDb })}, spectral radius ${solver.spectralRadius.toPrecision(4)}, ${solver.meanIterations.toFixed(2)} evaluations a sample, ${solver.capHits} samples without convergence`);
  return exitCodes.good;
}

/** What stands behind a harmonic's figures. */
function wordOf({ order, db, underNoise }: MarkedHarmonic): string {
  if (db < floorDb) return 'under the floor';
  return underNoise ? 'under the noise' : judgeOrder(order).word;
}

function measureSubject(
  subject: Subject, throughLadder: boolean, probe: { frequencyHz: number; peakVolts: number; orders: number[] },
): CircuitMeasurement | ThroughLadder {
  if (subject.kind === 'circuit') {
    if (throughLadder) throw new InputFailure('--through-ladder: expected --setting FILE, got a circuit document, which has no ladder');
    // The rule is the one that this level needs: a document says of no level what it is made for.
    return inDocumentedOrder(measureCircuit(buildProgram(subject.document, { rateHz: subject.internalRateHz, rule: 'measuring', nominalPeakVolts: probe.peakVolts }), probe));
  }
  const plan = planPath(subject.setting.path, subject.baseRateHz, { grade: 'measuring', joints: subject.setting.joints });
  if (throughLadder) return measureThroughLadder(plan, probe);
  const measured = measurePath(plan, { ...probe, scope: { kind: 'path' } });
  return inDocumentedOrder(measured.oscillates ? measured : markUnderNoise(measured, subject.setting.path, plan));
}

/** The fields of the documented form and no others. */
function inDocumentedOrder(measured: CircuitMeasurement | PathMeasurement): CircuitMeasurement {
  if (measured.oscillates) return measured;
  const { frequencyHz, fundamental, dcVolts, restVolts, harmonics, thd, solver } = measured;
  return { frequencyHz, fundamental, dcVolts, restVolts, harmonics, thd, solver };
}
