import { mkdtemp, readdir, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { ratioToDecibels } from '../../dsp/math/index.ts';
import { probeJoints, shownOrders } from '../../dsp/measure/index.ts';
import { planPath } from '../../dsp/path/index.ts';
import { compareHarmonics, compareJoints, compareRules, jointWords, numericsVersion, parseExpectation, parseSetting, ruleWords, stageRules, writeExpectation } from '../../dsp/setting/index.ts';
import type { ExpectedHarmonics, ExpectedRender, Setting } from '../../dsp/setting/index.ts';
import { readWords } from './arguments.ts';
import type { Options } from './arguments.ts';
import { exitCodes, InputFailure } from './failure.ts';
import { finished } from './finished.ts';
import { measureAt } from './measure-at.ts';
import { renderFile } from './render-file.ts';
import { formatDb, print, printJson } from './table.ts';
import { readBlocks } from './recording-files.ts';
import { writeAside } from './write-aside.ts';

export const checkHelp = `check     FOLDER [--record] [--json]

Proves that settings still sound as they did. Every setting file NAME.json (or NAME.setting.json) in the folder is held against
NAME.expected.json beside it: harmonics within a tolerance, the hash of a render, the null against a reference recording.
The integration rules and the verdicts on joints stored in the setting are held against those of now. The report says what moved, by order and by how many dB.
Exit code 1 if anything did.
  --record  writes an expectation from what is measured now for every setting that has none: 200 Hz and 1 kHz at +4 dBu, within 0.1 dB`;

const options = { record: { type: 'boolean' }, json: { type: 'boolean' } } as const satisfies Options;
const recordedProbes = [{ frequencyHz: 200, levelDbu: 4 }, { frequencyHz: 1000, levelDbu: 4 }] as const;
const lowestRecordedDb = -400;

/** One line of the report. */
interface Finding {
  readonly what: string;
  readonly passes: boolean;
  readonly words: string;
}

interface CheckedSetting {
  readonly setting: string;
  readonly passes: boolean;
  readonly findings: readonly Finding[];
}

export async function check(args: readonly string[]): Promise<number> {
  const words = readWords('check', args, options, 1);
  const folder = words.positionals[0]!;
  const names = (await readdir(folder)).filter((name) => name.endsWith('.json') && !name.endsWith('.expected.json')).sort();
  const checked: CheckedSetting[] = [];
  for (const name of names) {
    const text = await readFile(join(folder, name), 'utf8');
    if (!text.includes('"stagebench/setting"')) continue;
    checked.push(await checkOne(folder, name, settingOf(join(folder, name), text), words.flag('record')));
  }
  if (checked.length === 0) throw new InputFailure(`${folder}: expected at least one setting file (*.json), found none`);
  const passes = checked.every((setting) => setting.passes);
  if (words.flag('json')) printJson({ passes, settings: checked });
  else report(checked);
  return passes ? exitCodes.good : exitCodes.checkFailed;
}

function settingOf(path: string, text: string): Setting {
  try {
    return parseSetting(text);
  } catch (error) {
    throw new InputFailure(`${path}: ${(error as Error).message}`);
  }
}

async function checkOne(folder: string, name: string, setting: Setting, record: boolean): Promise<CheckedSetting> {
  const expectationPath = join(folder, `${basename(name, '.json').replace(/\.setting$/, '')}.expected.json`);
  const text = await readFile(expectationPath, 'utf8').catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return null;
    throw error;
  });
  if (text === null) {
    if (!record) return { setting: name, passes: false, findings: [{ what: 'expectation', passes: false, words: `expected ${basename(expectationPath)} beside it, found none` }] };
    await recordExpectation(expectationPath, setting);
    return { setting: name, passes: true, findings: [{ what: 'expectation', passes: true, words: `written to ${basename(expectationPath)}` }] };
  }
  let expectation;
  try {
    expectation = parseExpectation(text);
  } catch (error) {
    throw new InputFailure(`${expectationPath}: ${(error as Error).message}`);
  }
  const findings: Finding[] = [...checkRules(setting), ...checkJoints(setting)];
  findings.push(...expectation.harmonics.flatMap((expected) => checkHarmonics(setting, expected)));
  for (const expected of expectation.renders) findings.push(...await checkRender(folder, setting, expected, expectation.numerics));
  return { setting: name, passes: findings.every((finding) => finding.passes), findings };
}

/** The rules the setting was frozen with, where it has them, against those chosen now. */
function checkRules({ path, baseRateHz, rules, joints }: Setting): Finding[] {
  if (rules === null) return [];
  const words = (rule: (typeof rules)[number]) => (rule ? ruleWords(rule) : 'no rule');
  const moved = compareRules(rules, stageRules(path, planPath(path, baseRateHz, { joints })));
  return moved.map(({ stageIndex, expected, chosen }) => ({
    what: `rule of stage ${stageIndex + 1}`, passes: false, words: `expected ${words(expected)}, now ${words(chosen)}`,
  }));
}

/** The verdicts on joints that the setting was frozen with, where it has them, against what the probe says now. */
function checkJoints({ path, joints }: Setting): Finding[] {
  return joints === null ? [] : compareJoints(joints, finished(probeJoints(path))).map(({ stageIndex, expected, found }) => ({
    what: `joint before stage ${stageIndex + 1}`, passes: false, words: `expected ${jointWords(expected)}, now ${jointWords(found)}`,
  }));
}

function checkHarmonics(setting: Setting, expected: ExpectedHarmonics): Finding[] {
  const at = `${expected.frequencyHz} Hz at ${expected.levelDbu} dBu`;
  const measured = measureAt(setting, expected, expected.orders.map(({ order }) => order));
  if (measured.oscillates) return [{ what: at, passes: false, words: `oscillates or is bistable, spectral radius ${measured.spectralRadius.toPrecision(6)}` }];
  const dbOf = (order: number) => measured.harmonics.find((harmonic) => harmonic.order === order)!.db;
  return compareHarmonics(expected, measured.fundamentalDbu, dbOf).map(({ what, expectedDb, measuredDb, passes }) => ({
    what: `${at}, ${what}`,
    passes,
    words: `expected ${formatDb(expectedDb, 2)}, measured ${formatDb(measuredDb, 2)}, moved ${(measuredDb - expectedDb).toFixed(2)} dB`,
  }));
}

async function checkRender(folder: string, setting: Setting, expected: ExpectedRender, expectedNumerics: number): Promise<Finding[]> {
  const workFolder = await mkdtemp(join(tmpdir(), 'stagebench-'));
  try {
    const outputPath = join(workFolder, 'render.wav');
    const { sha256, rateHz } = await renderFile({
      setting, inputPath: join(folder, expected.input), outputPath, passes: expected.passes, grade: 'listening', encoding: 'float64',
    });
    const findings: Finding[] = [];
    if (rateHz !== expected.rateHz) {
      findings.push({ what: `render of ${expected.input}`, passes: false, words: `expected a recording at ${expected.rateHz} Hz, got ${rateHz} Hz` });
    } else if (expectedNumerics !== numericsVersion) {
      findings.push({ what: `hash of ${expected.input}`, passes: expected.reference !== null, words: `made under numerics ${expectedNumerics}, now ${numericsVersion}: not compared` });
    } else {
      findings.push({ what: `hash of ${expected.input}`, passes: sha256 === expected.sha256, words: sha256 === expected.sha256 ? 'the same' : `expected ${expected.sha256}, got ${sha256}` });
    }
    if (expected.reference) {
      const db = await nullDb(outputPath, join(folder, expected.reference.file));
      findings.push({ what: `null against ${expected.reference.file}`, passes: db <= expected.reference.maximumNullDb, words: `expected at most ${expected.reference.maximumNullDb} dB, measured ${formatDb(db, 1)} dB` });
    }
    return findings;
  } finally {
    await rm(workFolder, { recursive: true, force: true });
  }
}

/** Root mean square of the difference over that of the reference, in dB. */
async function nullDb(path: string, referencePath: string): Promise<number> {
  const blockFrames = 4096;
  const ours = readBlocks(path, blockFrames);
  let differenceSquares = 0;
  let referenceSquares = 0;
  let pending: { channels: Float64Array[]; at: number; frames: number } = { channels: [], at: 0, frames: 0 };
  for await (const { channels, frames } of readBlocks(referencePath, blockFrames)) {
    for (let frame = 0; frame < frames; frame += 1) {
      if (pending.at === pending.frames) {
        const next = await ours.next();
        if (next.done) throw new InputFailure(`${referencePath}: expected as many frames as the render, got more`);
        pending = { ...next.value, at: 0 };
      }
      if (pending.channels.length !== channels.length) throw new InputFailure(`${referencePath}: expected ${pending.channels.length} channels, got ${channels.length}`);
      for (let channel = 0; channel < channels.length; channel += 1) {
        const reference = channels[channel]![frame]!;
        const difference = pending.channels[channel]![pending.at]! - reference;
        differenceSquares += difference * difference;
        referenceSquares += reference * reference;
      }
      pending.at += 1;
    }
  }
  if (pending.at < pending.frames || !(await ours.next()).done) throw new InputFailure(`${referencePath}: expected as many frames as the render, got fewer`);
  return differenceSquares === 0 ? -Infinity : ratioToDecibels(Math.sqrt(differenceSquares / referenceSquares));
}

async function recordExpectation(path: string, setting: Setting): Promise<void> {
  const harmonics = recordedProbes.map(({ frequencyHz, levelDbu }): ExpectedHarmonics => {
    const measured = measureAt(setting, { frequencyHz, levelDbu }, shownOrders);
    if (measured.oscillates) throw new InputFailure(`${path}: not written: the path oscillates, spectral radius ${measured.spectralRadius.toPrecision(6)}`);
    return {
      frequencyHz,
      levelDbu,
      fundamentalDbu: rounded(measured.fundamentalDbu),
      toleranceDb: 0.1,
      floorDb: -140,
      orders: measured.harmonics.map(({ order, db }) => ({ order, db: rounded(Math.max(db, lowestRecordedDb)) })),
    };
  });
  await writeAside(path, writeExpectation({ numerics: numericsVersion, harmonics, renders: [] }));
}

/** To a thousandth of a dB, a hundredth of the tolerance. */
function rounded(db: number): number {
  return Math.round(db * 1000) / 1000;
}

function report(checked: readonly CheckedSetting[]): void {
  for (const { setting, passes, findings } of checked) {
    print(`${passes ? 'good  ' : 'MOVED '} ${setting}`);
    for (const finding of findings) {
      if (!finding.passes || findings.length <= 3) print(`  ${finding.passes ? 'good  ' : 'moved '} ${finding.what}: ${finding.words}`);
    }
  }
  print(`${checked.filter(({ passes }) => passes).length} of ${checked.length} settings as expected`);
}
