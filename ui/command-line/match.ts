import { largestResidualDb } from '../../dsp/listening/index.ts';
import { matchPathInSteps, mostDifferent, signalRangeDb, type PathMatch } from '../../dsp/measure/index.ts';
import { PathRunner, planPath, planSides, type TrialPlan } from '../../dsp/path/index.ts';
import type { Setting } from '../../dsp/setting/index.ts';
import { readWords } from './arguments.ts';
import type { Options } from './arguments.ts';
import { exitCodes, InputFailure } from './failure.ts';
import { Progress } from './progress.ts';
import { readRegion, trialOf } from './region.ts';
import { readSetting } from './subject.ts';
import { formatTable, print, printJson } from './table.ts';

export const matchHelp = `match     --setting A [--against B] [--on-trial path|N|N:NAME] --in LOOP [--region 1.2-3.4] [--json]

Makes what is on trial equally loud in and out of circuit over the second pass of a loop (gated, K-weighted: ITU-R BS.1770), always by turning the louder one down, and says what differs all
the same: level by r.m.s., true peak, third octaves (IEC 61260, base 10; bands ${signalRangeDb} dB under the whole have no signal), latency and polarity. Exit code 1 where it cannot match, or where more than ${largestResidualDb} dB is left.
  --against B      another setting, heard where A is out: the first of a pair less the second
  --on-trial WHAT  path (default), a stage by its number, or one of its mechanisms (why lists them)
  --region A-B     seconds of the recording that go round; all of it if absent`;

const options = {
  setting: { type: 'string' }, against: { type: 'string' }, 'on-trial': { type: 'string' }, in: { type: 'string' }, region: { type: 'string' }, json: { type: 'boolean' },
} as const satisfies Options;

/** An hour of stereo is held in memory. */
const mostSeconds = 3600;

export async function match(args: readonly string[]): Promise<number> {
  const words = readWords('match', args, options);
  const setting = await readSetting(words.required('setting'));
  const againstPath = words.text('against');
  const written = words.text('on-trial');
  if (againstPath !== undefined && written !== undefined) throw new InputFailure('--on-trial: expected nothing beside --against, which puts the two whole paths on trial');
  const against = againstPath === undefined ? null : await readSetting(againstPath);
  const onTrial = trialOf(written ?? 'path', setting.path);
  const { channels, rateHz } = await readRegion(words.required('in'), words.text('region'), mostSeconds);
  const progress = new Progress('match');
  const steps = matchPathInSteps({ path: setting.path, joints: setting.joints, baseRateHz: rateHz, onTrial, channels, ...(against ? { against: { path: against.path, joints: against.joints } } : {}) });
  let step = steps.next();
  for (; !step.done; step = steps.next()) progress.report(step.value);
  progress.done();
  const plan = against === null
    ? planPath(setting.path, rateHz, { onTrial, joints: setting.joints })
    : planSides(setting, against, rateHz);
  const report = reportOf(step.value, plan);
  if (words.flag('json')) printJson(report);
  else describe(report, against);
  return report.kind === 'matched' && Math.abs(report.residualDb) <= largestResidualDb ? exitCodes.good : exitCodes.checkFailed;
}

type Report = ReturnType<typeof reportOf>;

function reportOf(found: PathMatch, plan: TrialPlan) {
  // Of the path as it plays, not of the lower rate that the match is measured at.
  const alignment = { latencyFrames: new PathRunner(plan, 1, 128).latencyFrames, outIsTurned: plan.trialPolarity < 0 };
  return found.kind === 'matched' ? { ...found, ...alignment } : { ...found, ...alignment };
}

function describe(report: Report, against: Setting | null): void {
  const [inName, outName] = against === null ? ['in', 'out'] : ['first', 'second'];
  print(`both sides ${report.latencyFrames} frames late, in step; polarity ${report.outIsTurned ? `differs, so ${outName} is turned upside down` : 'the same'}`);
  if (report.kind === 'cannot-match') {
    print(`cannot match: ${report.sentence}`);
    return;
  }
  const { inGainDb, outGainDb, residualDb, inLufs, outLufs, differences } = report;
  print(`${inName} ${inLufs.toFixed(2)} LUFS, ${outName} ${outLufs.toFixed(2)} LUFS`);
  print(`gains: ${inName} ${inGainDb.toFixed(2)} dB, ${outName} ${outGainDb.toFixed(2)} dB; ${Math.abs(residualDb).toFixed(3)} dB left over${Math.abs(residualDb) <= largestResidualDb ? '' : `, more than the ${largestResidualDb} dB that level alone may differ by`}`);
  const most = mostDifferent(differences);
  print(`matched, ${inName} less ${outName}: r.m.s. ${signed(differences.rmsDb)} dB, true peak ${signed(differences.truePeakDb)} dB${most === null ? '' : `, most at ${most.nominalHz} Hz: ${signed(most.differenceDb)} dB`}`);
  print(formatTable(['Hz', `${inName}, dBFS`, `${outName}, dBFS`, 'difference, dB'], differences.bands.map(({ nominalHz, inDb, outDb, differenceDb }) => [
    String(nominalHz), inDb.toFixed(1), outDb.toFixed(1), differenceDb === null ? 'no signal' : signed(differenceDb),
  ]), [false]));
}

function signed(db: number): string {
  const rounded = Math.round(100 * db) / 100 + 0;
  return `${rounded > 0 ? '+' : ''}${rounded.toFixed(2)}`;
}
