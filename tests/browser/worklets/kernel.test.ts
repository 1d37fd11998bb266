/** The equality of the two back ends, as tests/circuit/emit holds it in Node, on the browser's own compiler. */
import { describe, expect, it } from 'vitest';
import { buildProgram, measuringTolerance, parseCircuitDocument } from '../../../dsp/circuit/index.ts';
import { defaultValues, stages } from '../../../dsp/stages/index.ts';
import { installCompiledCode } from '../../../worklets/compiled-code.ts';
import { compareBackEnds } from '../../circuit/emit/compare-back-ends.ts';
import { unlikeChannels } from '../../circuit/emit/signals.ts';

const seed = 20261125;
const rateHz = 384_000;
const documents = import.meta.glob('../../circuit/documents/*.json', { eager: true, import: 'default' });
const nameOf = (path: string) => path.slice(path.lastIndexOf('/') + 1, -'.json'.length);
const lack = installCompiledCode(true);

describe('in this browser the kernel equals the loop to the bit', () => {
  it('has compiled code at all', () => {
    expect(lack).toBeNull();
  });

  it.each(Object.entries(documents).map(([path, document]) => [nameOf(path), document] as const))('in the circuit %s, gently and into the rescue', (_name, document) => {
    const program = buildProgram(parseCircuitDocument(document), { rateHz });
    for (const peakVolts of [0.05, 3]) {
      const channels = unlikeChannels(1200, peakVolts, seed);
      expect(compareBackEnds(program, channels).difference).toBeNull();
      expect(compareBackEnds(program, channels, { inArena: false, tolerance: measuringTolerance }).difference).toBeNull();
      expect(compareBackEnds(program, [channels[0]]).difference).toBeNull();
    }
  });

  it.each(stages.map((stage) => [stage.id, stage] as const))('in the stage %s', (_id, stage) => {
    const program = stage.program(defaultValues(stage), { rateHz, source: null });
    if (program.kind !== 'circuit') return;
    const { difference, report } = compareBackEnds(program.circuit, unlikeChannels(1500, 4, seed));
    expect(difference).toBeNull();
    // A circuit whose devices are cores alone may be quiet enough for the tangent now and then; one without devices has nothing to evaluate.
    if (program.circuit.topology.portCount > program.circuit.coreStates.length) expect(report.evaluations[0]).toBeGreaterThan(1500);
  });

  it('at the cap', () => {
    const document = documents['../../circuit/documents/op-amp-loop.json'];
    const { difference, report } = compareBackEnds(buildProgram(parseCircuitDocument(document), { rateHz }), unlikeChannels(60, 1, seed), { tolerance: 0 });
    expect(difference).toBeNull();
    expect(report.capHits[0]! + report.capHits[1]!).toBeGreaterThan(60);
  });
});
