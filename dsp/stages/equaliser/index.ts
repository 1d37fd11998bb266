/** Equaliser: up to six shelves and bells with the curves of their analogue prototypes, without a circuit. */
export { LinearRunner } from './runner.ts';
export { emitSections, sectionModuleKey } from './emit/section-code.ts';
export { linearTransfer, steadyLinear } from './transfer.ts';
