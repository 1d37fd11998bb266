/** Makes programs of translated modules, where a compiler is installed. */
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';

const compiler = 'g++';
const here = 'tests/bench/cpp';
const folder = 'dist/bench/cpp';

export const plainOptions: readonly string[] = ['-O3'];
export const nativeOptions: readonly string[] = ['-O3', '-march=native'];
/** The same bits as elsewhere: no fused multiply-add. The square root needs no error number. */
const alwaysOptions: readonly string[] = ['-std=c++17', '-ffp-contract=off', '-fno-math-errno', '-w', `-I${here}`];

export function compilerIsInstalled(): boolean {
  return spawnSync(compiler, ['--version'], { stdio: 'ignore' }).status === 0;
}

/** Path of the program made of `source` (run from the project's folder); made once for the same source, headers and options. */
export function buildProgramOf(name: string, source: string, options: readonly string[]): string {
  const words = [...options, ...alwaysOptions];
  const hash = createHash('sha256');
  for (const part of [source, words.join(' '), ...['prelude.hpp', 'time-kernel.hpp'].map((header) => readFileSync(`${here}/${header}`, 'utf8'))]) hash.update(part);
  const program = `${folder}/${name}-${hash.digest('hex').slice(0, 16)}`;
  if (existsSync(program)) return program;
  mkdirSync(folder, { recursive: true });
  const file = `${program}.cpp`;
  writeFileSync(file, source);
  const compiled = spawnSync(compiler, [...words, '-o', `${program}.part`, file], { encoding: 'utf8' });
  if (compiled.status !== 0) throw new Error(`${file}: ${compiled.error?.message ?? compiled.stderr}`);
  renameSync(`${program}.part`, program);
  return program;
}
