/** What is measured: a circuit document or a setting, read from a file and built at the wanted rate. */
import { readFile } from 'node:fs/promises';
import { parseCircuitDocument } from '../../dsp/circuit/index.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import { oversamplingFactors } from '../../dsp/path/index.ts';
import { parseSetting } from '../../dsp/setting/index.ts';
import type { Setting } from '../../dsp/setting/index.ts';
import type { Options, Words } from './arguments.ts';
import { InputFailure } from './failure.ts';

export type Subject =
  | { readonly kind: 'circuit'; readonly document: CircuitDocument; readonly internalRateHz: number }
  | { readonly kind: 'setting'; readonly setting: Setting; readonly baseRateHz: number };

export const subjectOptions = {
  circuit: { type: 'string' },
  setting: { type: 'string' },
  rate: { type: 'string' },
  oversampling: { type: 'string' },
} as const satisfies Options;

/** @throws InputFailure, CircuitError or SettingError, naming the file */
export async function readSubject(verb: string, words: Words): Promise<Subject> {
  const circuitPath = words.text('circuit');
  const settingPath = words.text('setting');
  if ((circuitPath === undefined) === (settingPath === undefined)) {
    throw new InputFailure(`${verb}: expected either --circuit FILE or --setting FILE, got ${circuitPath === undefined ? 'neither' : 'both'}`);
  }
  const rateGiven = words.text('rate') !== undefined;
  const baseRateHz = words.number('rate', { minimum: 8000, maximum: 384_000, otherwise: 48_000 });
  if (circuitPath !== undefined) {
    const document = parseCircuitDocument(await readJson(circuitPath));
    return { kind: 'circuit', document, internalRateHz: baseRateHz * (readFactor(words) ?? 8) };
  }
  const setting = await readSetting(settingPath!);
  const factor = readFactor(words);
  return {
    kind: 'setting',
    setting: factor === undefined ? setting : { ...setting, path: { ...setting.path, oversamplingFactor: factor } },
    baseRateHz: rateGiven ? baseRateHz : setting.baseRateHz,
  };
}

/** A setting file, with its name in front of whatever is wrong with it. */
export async function readSetting(path: string): Promise<Setting> {
  const text = await readFile(path, 'utf8');
  try {
    return parseSetting(text);
  } catch (error) {
    throw new InputFailure(`${path}: ${(error as Error).message}`);
  }
}

async function readJson(path: string): Promise<unknown> {
  const text = await readFile(path, 'utf8');
  try {
    return JSON.parse(text) as unknown;
  } catch {
    throw new InputFailure(`${path}: expected a circuit document in JSON, got text that is not JSON`);
  }
}

function readFactor(words: Words): (typeof oversamplingFactors)[number] | undefined {
  const written = words.text('oversampling');
  if (written === undefined) return undefined;
  const factor = oversamplingFactors.find((known) => String(known) === written);
  if (factor === undefined) throw new InputFailure(`--oversampling: expected one of ${oversamplingFactors.join(', ')}, got ${written}`);
  return factor;
}
