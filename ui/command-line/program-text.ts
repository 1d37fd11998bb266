/** The words and numbers of `program`: from a component list to machine code, step by step. */
import type { CircuitProgram, TracedPass } from '../../dsp/circuit/index.ts';
import type { Equation, ProgramReport, Term } from './program-report.ts';
import { formatTable } from './table.ts';

/** Up to so many unknowns the matrix is printed as it stands. */
const mostColumns = 16;

/** Six digits are enough to follow; --json has them all. */
function short(value: number): string {
  const rounded = Number(value.toPrecision(6)) + 0;
  return rounded !== 0 && Math.abs(rounded) < 1e-3 ? rounded.toExponential() : String(rounded);
}

export function programText(report: ProgramReport): string {
  return [
    `${report.title}\nat ${report.rateHz} Hz inside, ${short(report.temperatureC)} °C`,
    section('1', 'The circuit as equations', circuitSection(report)),
    section('2', 'Operating point: capacitors open, inductors shorts', pointSection(report)),
    section('3', 'One step: S w = s0 + su u + Sz z + Si i', stepSection(report)),
    section('4', 'Reduced to what the devices see: ports', portSection(report)),
    section('5', 'The program: rows in the order in which they are summed', rowsSection(report)),
    section('6', 'Integration rule', ruleSection(report)),
    section('7', `One sample from rest: the input goes from 0 V to ${short(report.sample.inputVolts)} V`, sampleSection(report)),
    section('8', 'The kernel: one sample of two channels as straight-line code', kernelSection(report)),
  ].join('\n\n');
}

function section(number: string, title: string, body: string): string {
  return `${number}  ${title}\n\n${indented(body)}`;
}

function indented(text: string): string {
  return text.split('\n').map((line) => (line === '' ? line : `   ${line}`)).join('\n');
}

function sum(terms: readonly Term[]): string {
  if (terms.length === 0) return '0';
  return terms.map(([coefficient, name], k) => {
    const magnitude = Math.abs(coefficient);
    const factor = name === '' ? short(magnitude) : magnitude === 1 ? name : `${short(magnitude)} ${name}`;
    return k === 0 ? `${coefficient < 0 ? '-' : ''}${factor}` : `${coefficient < 0 ? '-' : '+'} ${factor}`;
  }).join(' ');
}

const equation = ({ left, right }: Equation): string => `${sum(left)} = ${sum(right)}`;
const list = (names: string, values: readonly number[]): string => values.map((value, k) => `${names}${k + 1} ${short(value)}`).join(', ');
const signWord = (sign: number): string => (sign < 0 ? ', counted the other way (p-type)' : '');

function circuitSection({ equations, currents, controls, states }: ProgramReport): string {
  const width = Math.max(...equations.map(({ of }) => of.length));
  return [
    'Unknowns are the voltage v of each node against ground, V, and the current j of each branch, A. The row of a node sums the currents',
    'that leave it through the linear parts. u is the input, V; a prime means: per second.',
    ...(states.some(({ kind }) => kind === 'flux') ? ['The branch of a core has its flux λ, V s, in place of its current, which is a device’s.'] : []),
    '',
    ...equations.map((row) => `${row.of.padEnd(width)}  ${equation(row)}`),
    ...(currents.length === 0 ? [] : ['', 'Device currents, functions of the control voltages:']),
    ...currents.map(({ name, device, from, to, sign }) => `${name}  ${device}, ${from} to ${to}${signWord(sign)}`),
    ...controls.map(({ name, control, of, sign }) => `${name}  ${control}: ${of}${signWord(sign)}`),
    ...(states.length === 0 ? [] : ['', 'Memory:']),
    ...states.map(({ name, of, kind }) => `${name}  ${of}, ${{ capacitor: 'a voltage', inductor: 'a current', flux: 'a flux' }[kind]}`),
  ].join('\n');
}

function pointSection({ unknowns, operatingPoint, controls, currents, states }: ProgramReport): string {
  const rows = [
    ...unknowns.map((name, k) => [name, short(operatingPoint.unknowns[k]!), name.startsWith('v') ? 'V' : name.startsWith('λ') ? 'V s' : 'A']),
    ...controls.map(({ name, control, unit }, k) => [name, short(operatingPoint.controlVolts[k]!), unit, control]),
    ...currents.map(({ name, device, from, to }, k) => [name, short(operatingPoint.currents[k]!), 'A', `${device}, ${from} to ${to}`]),
    ...states.map(({ name, of, kind, restValue }) => [name, short(restValue), { capacitor: 'V', inductor: 'A', flux: 'V s' }[kind], of]),
  ];
  const widths = [0, 1].map((column) => Math.max(...rows.map((row) => row[column]!.length)));
  return [
    ...rows.map(([name, value, unit, note = '']) => `${name!.padEnd(widths[0]!)}  ${value!.padStart(widths[1]!)} ${unit}  ${note}`.trimEnd()),
    '',
    `found from cold in ${operatingPoint.iterations} iterations; output at rest ${short(operatingPoint.outputVolts)} V`,
  ].join('\n');
}

function stepSection({ stamped, unknowns, equations, states, currents, backwardEuler, shifted }: ProgramReport): string {
  const { stepSeconds, matrix, constant, input, memory, current } = stamped;
  const cell = (value: number): string => (value === 0 ? '.' : short(value));
  const right = (row: number): readonly Term[] => ([
    [constant[row]!, ''], [input[row]!, 'u'],
    ...states.map(({ name }, k): Term => [memory[row]![k]!, name]), ...currents.map(({ name }, k): Term => [current[row]![k]!, name]),
  ] as const).filter(([coefficient]) => coefficient !== 0);
  const table = unknowns.length <= mostColumns
    ? formatTable(['', ...unknowns, '', ''], matrix.map((row, k) => [equations[k]!.of, ...row.map(cell), '=', '']).map((cells, k) => [...cells.slice(0, -1), sum(right(k))]))
    : matrix.map((row, k) => `${sum(row.map((value, c): Term => [value, unknowns[c]!]).filter(([value]) => value !== 0))} = ${sum(right(k))}`).join('\n');
  return [
    `h = ${short(stepSeconds)} s. A capacitor C becomes the conductance 2 C/h (trapezoidal) or C/h (backward Euler), an inductor L the resistance`,
    '2 L/h or L/h in its branch row; z is what each remembers.',
    backwardEuler.length === 0 ? 'Every state trapezoidal: none would ring.' : 'Backward Euler, because it would ring from sample to sample:',
    ...backwardEuler.map(({ name, ratio, errorDb }) => `  ${name}: its mode would go on by ${short(ratio)} a sample; the cure costs ${short(errorDb)} dB at 20 and 50 kHz`),
    ...(shifted ? ['Some node is touched by device currents alone, so that S alone is singular: in the next section the devices\' conductances at rest are', 'put into it and taken away from the devices.'] : []),
    '',
    table,
  ].join('\n');
}

function portSection({ unknowns, controls, currents, portCount, states }: ProgramReport): string {
  const shared = controls.filter(({ name }, k) => controls.some(({ port }, other) => other < k && port === controls[k]!.port && name !== ''));
  return [
    `Solving S for all its right sides once leaves, of ${unknowns.length} unknowns, ${portCount} port${portCount === 1 ? '' : 's'} x, ${states.length} state${states.length === 1 ? '' : 's'} z and ${currents.length} current${currents.length === 1 ? '' : 's'} i:`,
    'p = q0 + qu u + D z,  x = p + K i(v),  z′ = a0 + B u + A z + C c,  y = y0 + M u + L z + F c.',
    shared.length === 0 ? 'Every control voltage is a port of its own.' : 'By the wiring alone some control voltages are each other\'s, but for sign and constant, and share a port:',
    ...controls.map(({ name, control, port, portSign, offsetVolts }) => `${name} = ${portSign < 0 ? '-' : ''}${port}${offsetVolts === 0 ? '' : ` ${offsetVolts < 0 ? '-' : '+'} ${short(Math.abs(offsetVolts))}`}  ${control}`),
  ].join('\n');
}

function rowsSection({ instances, eliminationOrder, solve }: ProgramReport): string {
  const blocks = instances.map(({ subSteps, stepSeconds, portRows, feedbackRows, updateRows }) => [
    `${subSteps === 1 ? 'Once a sample' : `${subSteps} times a sample`}, h = ${short(stepSeconds)} s:`,
    ...[...portRows, ...feedbackRows, ...updateRows].map(equation),
  ].join('\n'));
  const nodes = solve.over === 'nodes'
    ? `Played, the circuit is solved over the ${solve.unknowns} nodes that devices touch and nothing holds: ${solve.factorEntries} entries of factors, where the ports have ${eliminationOrder.length ** 2}. The rows above serve the rescue.`
    : '';
  return [...blocks, eliminationOrder.length < 2 ? '' : `Rows of I - K J are eliminated in the order ${eliminationOrder.join(', ')}.`, nodes].filter((part) => part !== '').join('\n\n');
}

const ruleText: Readonly<Record<CircuitProgram['rule'], string>> = {
  T1: 'T1: one run at h.',
  T12: 'T12: two runs, at h and h/2; output (4 fine - coarse)/3.',
  T24: 'T24: two runs, at h/2 and h/4; output (4 fine - coarse)/3.',
  S1: 'S1: one run at h, because a core remembers.',
  S2: 'S2: one run at h/2, because a core remembers.',
  S4: 'S4: one run at h/4, because a core remembers.',
};

function ruleSection({ rule, ruleChoice }: ProgramReport): string {
  if (ruleChoice === null) return `${ruleText[rule]} Asked for by name.`;
  const { grade, errorDb, limitDb } = ruleChoice;
  return `${ruleText[rule]} Chosen for ${grade}: harmonics 1 to 5 at 10 kHz are off by ${Number.isFinite(errorDb) ? `about ${short(errorDb)} dB` : 'more than can be told'}; asked for: ${short(limitDb)} dB.`;
}

function sampleSection({ sample, instances, portCount, controls, currents }: ProgramReport): string {
  const { passes, ports, toleranceOfScale, correctedCurrents, states, outputVolts, evaluations, rescued, sameBitsCompiled } = sample;
  const square = (matrix: readonly number[]): string[] => Array.from({ length: portCount }, (_, row) => `       | ${matrix.slice(row * portCount, (row + 1) * portCount).map(short).join('  ')} |`);
  const pass = (one: TracedPass, index: number): string[] => [
    index === 0 ? 'The tangent, with i, J and factors as the sample before left them:' : `Evaluation ${index}:`,
    `  x       ${list('x', one.portVolts)} V`,
    ...(controls.length > portCount ? [`  v       ${list('v', one.controlVolts)} V`] : []),
    `  i       ${list('i', one.currents)} A`,
    `  J       ${one.jacobian.map(short).join(', ')} S`,
    ...(one.matrix === null ? [] : ['  I - K J', ...square(one.matrix)]),
    `  misses  ${one.residual.map(short).join(', ')} V    (p - x) + K i`,
    `  g       ${list('x', one.step)} V    (I - K J)^-1 (p - x + K i)`,
    `  error   ${short(one.error)} of the scale, allowed ${short(toleranceOfScale)}: ${one.error < toleranceOfScale ? 'solved' : 'a step'}`,
  ];
  return [
    `${instances[0]!.subSteps === 1 ? '' : `The run of ${instances[0]!.subSteps} steps a sample, its first step. `}p       ${list('p', ports)} V`,
    ...passes.flatMap(pass),
    ...(rescued ? [`Not solved by ${passes.length - 1} plain steps: the rescue took over.`] : []),
    ...(currents.length === 0 ? [] : [`c       ${list('c', correctedCurrents)} A    i + J g`]),
    ...(states.length === 0 ? [] : [`z′      ${states.map((value, k) => `z${k + 1} ${short(value)}`).join(', ')}`]),
    `y       ${String(outputVolts)} V after ${evaluations} evaluation${evaluations === 1 ? '' : 's'}`,
    sameBitsCompiled === null ? 'No compiled code can be had here.' : `The kernel gives ${sameBitsCompiled ? 'the same bits' : 'OTHER BITS'}.`,
  ].join('\n');
}

function kernelSection({ kernel }: ProgramReport): string {
  return [
    `${kernel.bytes} bytes of WebAssembly, ${kernel.memoryBytes} bytes of memory. Bytes of each function:`,
    kernel.functions.map(({ name, bytes }) => `${name} ${bytes}`).join(', '),
    '',
    'Memory in bytes from the base address. each: two numbers, one a channel; alike: one number twice, for both channels; scratch: of the',
    'rescue, which takes one channel at a time.',
    formatTable(['section', 'offset', 'numbers', 'bytes', ''], kernel.memory.map(({ section: name, offset, numbers, holds }) => [name, String(offset), String(numbers), String(numbers * (holds === 'scratch' ? 8 : 16)), holds])),
    '',
    'Function "run" in the text format of the WebAssembly core specification, folded (--json has the others):',
    '',
    kernel.run,
  ].join('\n');
}
