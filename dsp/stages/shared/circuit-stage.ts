/** What every stage that is a circuit does alike: program, node voltages, and the two ideal gains round it. */
import { buildProgram } from '../../circuit/index.ts';
import type { CircuitDocument } from '../../circuit/index.ts';
import { decibelsToRatio } from '../../math/index.ts';
import type {
  CircuitStageProgram, OutputNetwork, StageContext, StageDefinition, StageProgram, StageReading, StageRemark, StageValues,
} from '../contract.ts';
import { clipOutputDbu } from './clip-level.ts';
import { dbuToPeakVolts, lineLevelDbu } from './levels.ts';
import { numberOf } from './values.ts';

/** What a stage says about itself at rest. */
export interface StageDescription {
  readonly readings: readonly StageReading[];
  readonly remarks: readonly StageRemark[];
}

/** A circuit stage as its folder declares it; the rest follows. */
export interface CircuitStageEntry extends Pick<StageDefinition, 'id' | 'title' | 'shortTitle' | 'inverts' | 'invertsFor' | 'cautions' | 'parameters' | 'drawing' | 'drawingFor' | 'curve' | 'relevant' | 'mechanisms' | 'loopProbe'> {
  circuit(values: StageValues, source: OutputNetwork | null): CircuitDocument;
  outputNetwork(values: StageValues, source?: OutputNetwork | null): OutputNetwork;
  refuse(values: StageValues): string | null;
  /** Readings and remarks; the polarity is added. */
  describe(values: StageValues, program: CircuitStageProgram): StageDescription;
}

const polarity = (inverts: boolean): StageRemark => ({ label: 'polarity', words: inverts ? 'inverts' : 'kept' });

export function circuitStage(entry: CircuitStageEntry): StageDefinition {
  const { describe, ...declared } = entry;
  return {
    ...declared,
    program: (values, context) => circuitProgram(entry, values, context),
    report: (values, program) => {
      const running = asCircuit(program);
      const { readings, remarks } = describe(values, running);
      return {
        readings,
        remarks: [...remarks, polarity(entry.invertsFor?.(values) ?? entry.inverts)],
        nodeVolts: running.circuit.operatingPoint.nodeVolts,
      };
    },
    clipOutputDbu: (_values, program) => clipOutputDbu(asCircuit(program)),
  };
}

function circuitProgram(entry: CircuitStageEntry, values: StageValues, context: StageContext): CircuitStageProgram {
  const inputGain = decibelsToRatio(numberOf(values, 'driveDb'));
  return {
    kind: 'circuit',
    circuit: buildProgram(entry.circuit(values, context.source), {
      rateHz: context.rateHz,
      nominalPeakVolts: dbuToPeakVolts(lineLevelDbu) * inputGain,
      ...(context.rule ? { rule: context.rule } : {}),
    }),
    inputGain,
    outputGain: decibelsToRatio(numberOf(values, 'makeUpDb')),
  };
}

function asCircuit(program: StageProgram): CircuitStageProgram {
  if (program.kind !== 'circuit') throw new Error(`a circuit stage reports on a program of kind "circuit", got "${program.kind}"`);
  return program;
}
