// From trees of instructions to bytes, and the memory they work in.
export * from './code.ts';
export { loads, operations, stores, type LoadName, type OperationName, type OperationShape, type StoreName, type ValueType } from './operations.ts';
export { ByteSink } from './bytes.ts';
export { encodeModule, functionBytes, memoryImport } from './encode.ts';
export { functionText, moduleText, type TextOptions } from './text.ts';
export { blocksOf, localsOf, operandsOf, partsOf } from './walk.ts';
export { vectorProbe } from './vector-probe.ts';
export { scalarLane, vectorLanes, type Lanes } from './lanes.ts';
export { clampCode, expCode, functionOf, logCode, tanhCode, type InlineCode } from './math-code.ts';
export { Arena, roundedUp } from './arena.ts';
export {
  adoptModule, CodeMemory, createCodeMemory, installWebAssembly, moduleOf, scratchCodeMemory, type CompiledModule, type Exports, type WebAssemblyShell,
} from './host.ts';
