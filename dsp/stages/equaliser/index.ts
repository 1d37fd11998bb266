/** Equaliser: up to six shelves and bells with the curves of their analogue prototypes, without a circuit. */
import type { LinearProgram, StageDefinition } from '../contract.ts';
import { equaliserCurve } from './curve.ts';
import { equaliserProgram } from './program.ts';
import { analogueTransfer } from './prototype.ts';
import { readings, remarks } from './report.ts';
import { parameters, relevant } from './table.ts';

export { LinearRunner } from './runner.ts';
export { emitSections, sectionModuleKey } from './emit/section-code.ts';
export { linearTransfer, steadyLinear } from './transfer.ts';
export { noteHertz, noteName, partialsWithin } from './partials.ts';

export const equaliser: StageDefinition = {
  id: 'equaliser',
  title: 'Equaliser',
  shortTitle: 'equaliser',
  inverts: false,
  cautions: [],
  parameters,
  drawing: null,
  circuit: () => null,
  outputNetwork: () => null,
  // Linear: nothing makes harmonics.
  mechanisms: () => [],
  refuse: () => null,
  program: (values, context) => equaliserProgram(values, context.rateHz),
  report: (values, program) => ({ readings: readings(values, program as LinearProgram), remarks: remarks(values, program as LinearProgram), nodeVolts: {} }),
  // Linear: no level makes harmonics.
  clipOutputDbu: () => null,
  relevant,
  curve: equaliserCurve,
  transfer: analogueTransfer,
};
