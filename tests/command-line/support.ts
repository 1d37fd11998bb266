import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, vi } from 'vitest';
import { main } from '../../ui/command-line/main.ts';

export interface Run {
  readonly exitCode: number;
  readonly stdout: string;
  readonly stderr: string;
}

/** Runs the command line in this process and catches what it prints. */
export async function run(...args: string[]): Promise<Run> {
  let stdout = '';
  let stderr = '';
  const out = vi.spyOn(process.stdout, 'write').mockImplementation((text) => { stdout += String(text); return true; });
  const err = vi.spyOn(process.stderr, 'write').mockImplementation((text) => { stderr += String(text); return true; });
  try {
    return { exitCode: await main(args), stdout, stderr };
  } finally {
    out.mockRestore();
    err.mockRestore();
  }
}

/** A folder that is gone after the tests of the file. */
export function workFolder(): (name: string) => string {
  const folder = mkdtempSync(join(tmpdir(), 'stagebench-test-'));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  return (name) => join(folder, name);
}
