import { fileURLToPath } from 'node:url';
import { ESLint } from 'eslint';
import { describe, expect, it } from 'vitest';

const root = fileURLToPath(new URL('..', import.meta.url));
const eslint = new ESLint({ cwd: root, overrideConfigFile: fileURLToPath(new URL('../.eslint.config.js', import.meta.url)) });

async function rulesBroken(code: string, filePath: string): Promise<(string | null)[]> {
  const [result] = await eslint.lintText(code, { filePath: `${root}/${filePath}` });
  return result!.messages.map((message) => message.ruleId);
}

describe('the lint rule of dsp/', () => {
  it.each(['exp', 'log', 'pow', 'tanh', 'sin', 'cos', 'random', 'hypot', 'cbrt'])('forbids Math.%s', async (name) => {
    expect(await rulesBroken(`export const y = (x: number): number => Math.${name}(x);`, 'dsp/math/sample.ts')).toEqual(['no-restricted-properties']);
  });

  it.each([
    ['powers by operator', 'export const y = (x: number): number => x ** 2;', 'no-restricted-syntax'],
    ['powers by assignment', 'export function y(x: number): number { x **= 2; return x; }', 'no-restricted-syntax'],
    ['computed names', "export const y = (x: number): number => Math['exp'](x);", 'no-restricted-syntax'],
    ['a clock', 'export const now = (): number => Date.now();', 'no-restricted-globals'],
  ])('forbids %s', async (_name, code, rule) => {
    expect(await rulesBroken(code, 'dsp/math/sample.ts')).toContain(rule);
  });

  it('takes Math apart by destructuring for a breach', async () => {
    expect(await rulesBroken('const { exp } = Math;\nexport const y = exp(1);', 'dsp/math/sample.ts')).not.toEqual([]);
  });

  it('allows exact functions, and everything outside dsp/', async () => {
    expect(await rulesBroken('export const y = (x: number): number => Math.sqrt(Math.abs(x));', 'dsp/math/sample.ts')).toEqual([]);
    expect(await rulesBroken('export const y = (x: number): number => Math.exp(x);', 'tests/math/sample.ts')).toEqual([]);
  });
});
