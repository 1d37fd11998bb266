/** The shaping stage's work as compiled code. */
import type { CodeMemory, Exports } from '../../../webassembly/index.ts';
import type { PolynomialProgram } from '../../contract.ts';
import { isHeld, isSilent } from '../shaping-work.ts';
import type { ShapingState, ShapingWork } from '../shaping-work.ts';
import { emitShaping, shapingModuleKey } from './shaping-code.ts';

/** Null where the memory has no code for it. Not for the audio callback. */
export function compiledShaping(memory: CodeMemory, program: PolynomialProgram): ShapingWork | null {
  const code = memory.code(shapingModuleKey, emitShaping);
  return code === null ? null : new CompiledShaping(code, program);
}

/** All arrays must lie in the code's memory. Audio thread: allocates nothing, never throws, never waits. */
class CompiledShaping implements ShapingWork {
  readonly #run: Exports[string];
  readonly #silent: number;

  constructor(code: Exports, program: PolynomialProgram) {
    this.#run = code[isHeld(program) ? 'shapeHeld' : 'shapePolynomial']!;
    this.#silent = isSilent(program) ? 1 : 0;
  }

  shape({ parameters, memory, counts }: ShapingState, channels: readonly Float64Array[], offset: number, frames: number): void {
    const last = channels.length - 1;
    const start = 8 * offset;
    this.#run(
      channels[0]!.byteOffset + start, channels[last]!.byteOffset + start, frames, memory[0]!.byteOffset, memory[last]!.byteOffset, parameters.byteOffset, counts.byteOffset,
      this.#silent,
    );
  }
}
