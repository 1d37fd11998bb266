import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { beforeAll, describe, expect, it } from 'vitest';
import { encodeModule } from '../../dsp/webassembly/index.ts';
import type { Equation, ProgramReport } from '../../ui/command-line/program-report.ts';
import { readModuleText } from '../webassembly/text-reader.ts';
import { run } from './support.ts';

const documentPath = (name: string): string => fileURLToPath(new URL(`../circuit/documents/${name}.json`, import.meta.url));

async function reportOf(name: string, ...more: string[]): Promise<ProgramReport> {
  const { exitCode, stdout, stderr } = await run('program', '--circuit', documentPath(name), '--json', ...more);
  expect(stderr).toBe('');
  expect(exitCode).toBe(0);
  return JSON.parse(stdout) as ProgramReport;
}

/** Left to right, as the solver sums. */
function summed(terms: Equation['right'], values: Readonly<Record<string, number>>): number {
  return terms.reduce((sum, [coefficient, name], k) => {
    const value = name === '' ? coefficient : coefficient * values[name]!;
    return k === 0 ? value : sum + value;
  }, 0);
}

const named = (prefix: string, values: readonly number[]): Record<string, number> => Object.fromEntries(values.map((value, k) => [`${prefix}${k + 1}`, value]));

describe('stagebench program of one transistor', () => {
  let report: ProgramReport;
  beforeAll(async () => { report = await reportOf('one-transistor', '--rule', 'T1', '--volts', '0.1'); });

  it('numbers nodes by first mention, then branches', () => {
    expect(report.unknowns).toEqual(['v(in)', 'v(b)', 'v(vp)', 'v(c)', 'v(e)', 'j(IN)', 'j(VP)']);
    expect(report.equations.map(({ of }) => of)).toEqual(['node in', 'node b', 'node vp', 'node c', 'node e', 'branch IN', 'branch VP']);
  });

  it('writes the equations of the component list', () => {
    // Written down from the document by hand: Kirchhoff's current law at b, c and e, and the two sources.
    const expected: Readonly<Record<string, Readonly<Record<string, number>>>> = {
      'node b': { 'v(b)': 1 / 150_000 + 1 / 15_000, 'v(vp)': -1 / 150_000, 'v(b)′': 1e-6, 'v(in)′': -1e-6 },
      'node c': { 'v(c)': 1 / 4700, 'v(vp)': -1 / 4700, 'v(c)′': 1e-10 },
      'node e': { 'v(e)': 1 / 1000 },
      'branch IN': { 'v(in)': 1 },
      'branch VP': { 'v(vp)': 1 },
    };
    for (const [of, terms] of Object.entries(expected)) {
      const found = Object.fromEntries(report.equations.find((row) => row.of === of)!.left.map(([coefficient, name]) => [name, coefficient]));
      expect(Object.keys(found).sort()).toEqual(Object.keys(terms).sort());
      for (const [name, coefficient] of Object.entries(terms)) expect(found[name]).toBeCloseTo(coefficient, 12);
    }
    expect(report.equations.map(({ right }) => right)).toEqual([[], [[-1, 'i1'], [-1, 'i2']], [], [[1, 'i2']], [[1, 'i1']], [[1, 'u']], [[24, '']]]);
  });

  it('gives an operating point that satisfies them and the law of the transistor', () => {
    const { unknowns, currents, controlVolts } = report.operatingPoint;
    const values: Record<string, number> = { ...Object.fromEntries(report.unknowns.flatMap((name, k) => [[name, unknowns[k]!], [`${name}′`, 0]])), ...named('i', currents), u: 0 };
    for (const { of, left, right } of report.equations) {
      const miss = summed(left, values) - summed(right, values);
      const size = Math.max(...[...left, ...right].map(([coefficient, name]) => Math.abs(name === '' ? coefficient : coefficient * values[name]!)));
      // The operating point is refined until the controls move by less than 1e-9 of their scale.
      if (!(Math.abs(miss) <= 1e-8 * size)) expect.fail(`${of}: ${miss} of ${size} left`);
    }
    // Gummel, Poon 1970 without high-level injection, at 27 °C: VT from the exact constants of the SI.
    const thermalVolts = (1.380649e-23 * 300.15) / 1.602176634e-19;
    const [forward, reverse] = controlVolts.map((v) => Math.exp(Math.max(v / thermalVolts, -100)));
    const transport = 1e-14 * (forward! - reverse!) * (1 - controlVolts[1]! / 100);
    expect(currents[0]! / (transport + (1e-14 / 200) * (forward! - 1))).toBeCloseTo(1, 9);
    expect(currents[1]! / ((1e-14 / 2) * (reverse! - 1) - transport)).toBeCloseTo(1, 9);
  });

  it('solves its sample: rows give its ports, states and output to the bit', () => {
    const { instances: [instance], sample, states } = report;
    const rest = named('z', states.map(({ restValue }) => restValue));
    expect(instance!.portRows.map(({ right }) => summed(right, { u: 0.1, ...rest }))).toEqual(sample.ports);
    const results = instance!.updateRows.map(({ right }) => summed(right, { u: 0.1, ...rest, ...named('c', sample.correctedCurrents) }));
    expect(results).toEqual([...sample.states, sample.outputVolts]);
  });

  it('reduces without loss: the matrix of the step, solved as it stands with the sample\'s currents, has the same output and control voltages', () => {
    const { stamped, sample, states, unknowns } = report;
    const right = stamped.constant.map((constant, row) => constant + stamped.input[row]! * 0.1
      + states.reduce((sum, { restValue }, k) => sum + stamped.memory[row]![k]! * restValue, 0)
      + sample.correctedCurrents.reduce((sum, current, k) => sum + stamped.current[row]![k]! * current, 0));
    const w = solved(stamped.matrix, right);
    const at = (name: string): number => w[unknowns.indexOf(name)]!;
    // Volts of order 20 in double precision, a matrix of condition below 1e5.
    expect(!(Math.abs(at('v(c)') - sample.outputVolts) <= 1e-10)).toBe(false);
    const last = sample.passes.at(-1)!;
    expect(!(Math.abs(at('v(b)') - at('v(e)') - (last.portVolts[0]! + last.step[0]!)) <= 1e-10)).toBe(false);
    expect(!(Math.abs(at('v(b)') - at('v(c)') - (last.portVolts[1]! + last.step[1]!)) <= 1e-10)).toBe(false);
  });

  it('shows a kernel that is the module\'s text, and gives the same bits', () => {
    const { kernel, sample } = report;
    expect(sample.sameBitsCompiled).toBe(true);
    const bytes = encodeModule(readModuleText(kernel.text));
    expect(WebAssembly.validate(bytes)).toBe(true);
    expect(bytes.length).toBe(kernel.bytes);
    expect(kernel.text.replaceAll(/\s+/g, ' ')).toContain(kernel.run.replaceAll(/\s+/g, ' '));
    expect(kernel.functions.reduce((sum, one) => sum + one.bytes, 0)).toBeLessThan(kernel.bytes);
    // Sections lie one after the other, and each number that code of `run` touches is named.
    kernel.memory.forEach(({ offset }, k) => expect(offset).toBeGreaterThan(k === 0 ? -1 : kernel.memory[k - 1]!.offset));
    expect(kernel.run.match(/offset=\d+ \(local/g)).toBeNull();
  });
});

/** Gauss with exchanges. */
function solved(matrix: readonly (readonly number[])[], right: readonly number[]): number[] {
  const rows = matrix.map((row, k) => [...row, right[k]!]);
  const size = rows.length;
  for (let k = 0; k < size; k += 1) {
    const best = rows.reduce((found, row, index) => (index >= k && Math.abs(row[k]!) > Math.abs(rows[found]![k]!) ? index : found), k);
    [rows[k], rows[best]] = [rows[best]!, rows[k]!];
    for (let row = 0; row < size; row += 1) {
      if (row === k) continue;
      const factor = rows[row]![k]! / rows[k]![k]!;
      for (let c = k; c <= size; c += 1) rows[row]![c]! -= factor * rows[k]![c]!;
    }
  }
  return rows.map((row, k) => row[size]! / row[k]!);
}

describe('stagebench program of other circuits', () => {
  it.each(['push-pull', 'single-ended-valve', 'transformer-line', 'discrete-amplifier'])('prints every step of %s', async (name) => {
    const { exitCode, stdout, stderr } = await run('program', '--circuit', documentPath(name), '--rule', 'T24');
    expect(stderr).toBe('');
    expect(exitCode).toBe(0);
    expect([...stdout.matchAll(/^(\d) {2}\S/gm)].map(([, number]) => Number(number))).toEqual([1, 2, 3, 4, 5, 6, 7, 8]);
    expect(stdout).toContain('The kernel gives the same bits.');
    expect(stdout).toContain('T24: two runs, at h/2 and h/4; output (4 fine - coarse)/3. Asked for by name.');
    expect(stdout).not.toMatch(/NaN|undefined|Infinity|\[object/);
  });

  it('tells which control voltages share a port', async () => {
    const report = await reportOf('push-pull-pair', '--rule', 'T1');
    expect(report.controls.length).toBeGreaterThan(report.portCount);
    const { stdout } = await run('program', '--circuit', documentPath('push-pull-pair'), '--rule', 'T1');
    expect(stdout).toContain('By the wiring alone some control voltages are each other\'s, but for sign and constant, and share a port:');
  });

  it('names every branch once', async () => {
    const { unknowns } = await reportOf('transformer-line', '--rule', 'T1');
    expect(new Set(unknowns).size).toBe(unknowns.length);
  });

  it('shows a core as its flux, and the plain steps it takes', async () => {
    const { stdout } = await run('program', '--circuit', documentPath('transformer-core'), '--rule', 'T12');
    for (const line of ['branch TC  v(p) - λ(TC)′ = 0', 'v2  TC flux: λ(TC)', 'z2  TC, a flux', 'S2: one run at h/2, because a core remembers. Asked for by name.']) expect(stdout).toContain(line);
    expect(stdout).not.toContain('undefined');
  });

  it('says why it chose a rule', async () => {
    const { stdout } = await run('program', '--circuit', documentPath('one-transistor'), '--rule', 'measuring');
    expect(stdout).toMatch(/^ {3}T\d+: .* Chosen for measuring: harmonics 1 to 5 at 10 kHz are off by about \S+ dB; asked for: 0\.0(?:05|1) dB\.$/m);
  });
});

describe('stagebench program with bad input', () => {
  it.each([
    [['program'], 'program: expected --circuit, got nothing'],
    [['program', '--circuit', documentPath('one-transistor'), '--rule', 'T3'], '--rule: expected one of T1, T12, T24, listening, measuring, got T3'],
    [['program', '--circuit', documentPath('one-transistor'), '--volts', 'many'], '--volts: expected a number'],
    [['program', '--circuit', documentPath('nowhere')], 'expected a file, found none'],
  ])('%j: one sentence, exit code 2', async (args, sentence) => {
    const { exitCode, stderr } = await run(...args);
    expect(exitCode).toBe(2);
    expect(stderr).toContain(sentence);
    expect(stderr.trim().split('\n')).toHaveLength(1);
  });
});

describe('the worked example of DEVELOPERS.md', () => {
  it('quotes what the command prints, line by line and in order', async () => {
    const text = readFileSync(new URL('../../DEVELOPERS.md', import.meta.url), 'utf8');
    const example = text.slice(text.indexOf('### One transistor, step by step'), text.indexOf('### The compiled back end'));
    const command = /npm run -s stagebench -- (program .+)/.exec(example)![1]!.split(' ');
    const path = command[command.indexOf('--circuit') + 1]!;
    const { stdout } = await run(...command.map((word) => (word === path ? fileURLToPath(new URL(`../../${path}`, import.meta.url)) : word)));
    // Where code finds its numbers is left open in the quotation.
    const printed = stdout.split('\n').map((line) => line.trim().replaceAll(/offset=\d+/g, 'offset=…'));
    const quoted = [...example.matchAll(/```text\n([^]*?)```/g)].flatMap(([, block]) => block!.split('\n')).map((line) => line.trim()).filter((line) => line !== '' && line !== '…');
    expect(quoted.length).toBeGreaterThan(30);
    let at = 0;
    for (const line of quoted) {
      const start = line.endsWith(' …') ? line.slice(0, -2) : null;
      const found = printed.findIndex((candidate, k) => k >= at && (start === null ? candidate === line : candidate.startsWith(start)));
      if (found < 0) expect.fail(`not printed after line ${at}: ${line}`);
      at = found + 1;
    }
  });
});
