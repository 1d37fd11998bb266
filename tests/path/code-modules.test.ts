/** A thread that may not compile, as the audio thread: what it is given is what a path needs. A file of its own, since modules are kept for a thread's life. */
import { describe, expect, it } from 'vitest';
import { kernelModules, PathRunner, staticModules, type CodeModule, type PathPlan } from '../../dsp/path/index.ts';
import { adoptModule } from '../../dsp/webassembly/index.ts';
import { compiled, firstDifference, recordingShell } from '../support/compiled-code.ts';
import { pathOf, planOf, plucked } from './support.ts';

const plan = planOf(pathOf(['single-ended-bipolar', 'single-ended-field-effect', 'harmonic-shaping', 'equaliser', 'single-ended-bipolar']));
const input = plucked(1200);

function play(of: PathPlan): Float64Array {
  const runner = new PathRunner(of, 1, 128);
  const output = new Float64Array(input.length);
  for (let at = 0; at < input.length; at += 100) runner.process([input.subarray(at, at + 100)], [output.subarray(at, at + 100)], 100);
  return output;
}

/** Plays where nothing can be compiled; how many modules were instantiated, too. */
function playUncompiled(): { readonly output: Float64Array; readonly instances: number } {
  const record = recordingShell();
  const output = compiled(() => play(plan), { ...record.shell, compile: null });
  return { output, instances: record.instances };
}

const give = (modules: readonly CodeModule[]): void => {
  for (const { key, emit } of modules) adoptModule(key, new WebAssembly.Module(emit()));
};

describe('a thread that may not compile', () => {
  it('plays the same bits with none, some and all of the modules', () => {
    const readable = play(plan);
    const none = playUncompiled();
    expect([none.instances, firstDifference(none.output, readable)]).toEqual([0, -1]);
    give(staticModules());
    const some = playUncompiled();
    expect([some.instances, firstDifference(some.output, readable)]).toEqual([staticModules().length, -1]);
    give(kernelModules(plan));
    const all = playUncompiled();
    expect([all.instances, firstDifference(all.output, readable)]).toEqual([staticModules().length + kernelModules(plan).length, -1]);
  });

  it('needs a kernel for each way of wiring, once', () => {
    // The last stage is loaded by the shaping stage before it, which is an ideal source as the path's own: the first stage's kernel runs both.
    expect(kernelModules(plan)).toHaveLength(2);
    expect(kernelModules(planOf(pathOf(['harmonic-shaping'])))).toEqual([]);
    const keys = [...staticModules(), ...kernelModules(plan)].map(({ key }) => key);
    expect(new Set(keys).size).toBe(keys.length);
    // A stage after the one on trial is wired both ways: to that stage and to the ideal source before it.
    const path = pathOf(['harmonic-shaping', 'single-ended-field-effect', 'push-pull']);
    expect([planOf(path), planOf(path, { kind: 'stage', key: 's2' })].map((each) => kernelModules(each).length)).toEqual([2, 3]);
  });

  it('gives bytes that the engine takes, the same each time', () => {
    for (const { emit } of [...staticModules(), ...kernelModules(plan)]) {
      expect(WebAssembly.validate(emit())).toBe(true);
      expect(emit()).toEqual(emit());
    }
  });
});
