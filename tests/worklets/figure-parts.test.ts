/** What a worker keeps from one part of a figure to the next, and how soon it has something to show. Counted in steps: how long one takes is the machine's affair. */
import { describe, expect, it } from 'vitest';
import { factsOfSetting, figureViewById } from '../../dsp/measure/figures/index.ts';
import type { PathSetting } from '../../dsp/path/index.ts';
import { openingSetting } from '../../dsp/setting/index.ts';
import type { FigurePartRequest } from '../../worklets/messages.ts';
import { emptyFigureMemory, figurePart } from '../../worklets/workers/figure-parts.ts';
import type { FigureMemory } from '../../worklets/workers/figure-parts.ts';

const { path, baseRateHz } = openingSetting();
const scope = { kind: 'path' } as const;
const view = figureViewById('harmonics-level')!;
const values = Object.fromEntries(view.parameters.map((parameter) => [parameter.id, parameter.default]));
const parts = view.split(factsOfSetting({ path, baseRateHz, scope, programme: null }), values, 2);
const changed = (emitterOhms: number): PathSetting => ({ ...path, stages: path.stages.map((stage, index) => (index === 1 ? { ...stage, values: { ...stage.values, emitterOhms } } : stage)) });
const requestFor = (part: unknown, rest: Partial<FigurePartRequest> = {}): FigurePartRequest => ({ run: 1, view: view.id, values, part, path, joints: null, baseRateHz, scope, programme: null, ...rest });

/** Runs a part; at which step its first points came, and how many steps it took. */
function run(request: FigurePartRequest, memory: FigureMemory) {
  const job = figurePart(request, memory);
  let steps = 0;
  let first: number | null = null;
  for (;;) {
    const step = job.next();
    steps += 1;
    if (step.value !== undefined) first ??= steps;
    if (step.done) return { steps, first: first!, points: step.value };
  }
}

describe('a worker that measures parts of figures', () => {
  it('plans a path once, whatever the part, and of a changed one the stages that changed', () => {
    const memory = emptyFigureMemory();
    run(requestFor(parts[0]), memory);
    const [plan] = [...memory.subjects.values()].map((subject) => subject.plan);
    const made = memory.programs.size;
    expect(made).toBeGreaterThan(1);
    run(requestFor(parts[1]), memory);
    expect([...memory.subjects.values()].map((subject) => subject.plan)).toEqual([plan]);
    expect([...memory.subjects.values()][0]!.plan).toBe(plan);
    run(requestFor(parts[0], { path: changed(22) }), memory);
    expect(memory.subjects.size).toBe(2);
    // The stage itself and the one behind, which sees its output; not the one before.
    expect([...memory.programs.keys()].slice(made).map((key) => key.split('"')[1])).toEqual(['push-pull', 'harmonic-shaping']);
    // Back where it was, nothing is planned anew.
    run(requestFor(parts[0]), memory);
    expect(memory.programs.size - made).toBe(2);
    expect([...memory.subjects.values()].at(-1)!.plan).toBe(plan);
  });

  it('forgets the oldest of its paths', () => {
    const memory = emptyFigureMemory();
    for (const ohms of [10, 11, 12, 13, 15, 16]) {
      const job = figurePart(requestFor(parts[0], { path: changed(ohms) }), memory);
      const planned = () => [...memory.subjects.keys()].at(-1)?.includes(`"emitterOhms":${ohms}`) === true;
      while (!planned()) expect(job.next().done).toBe(false);
    }
    expect(memory.subjects.size).toBe(4);
    expect([...memory.subjects.keys()].at(-1)).toContain('"emitterOhms":16');
  });

  it('has points to show within the first twentieth of its steps', () => {
    const memory = emptyFigureMemory();
    run(requestFor(parts[0]), memory);
    const { steps, first } = run(requestFor(parts[0]), memory);
    const all = parts.slice(1).reduce((sum, part) => sum + run(requestFor(part), memory).steps, steps);
    expect(all).toBeGreaterThan(200);
    expect(first).toBeLessThanOrEqual(all / 20);
  });

  it('leaves out the noise that plays beside the signal', () => {
    const memory = emptyFigureMemory();
    const noisy = { ...path, supply: {} };
    expect(run(requestFor(parts[0], { path: noisy as PathSetting }), memory).points).toEqual(run(requestFor(parts[0]), memory).points);
  });
});
