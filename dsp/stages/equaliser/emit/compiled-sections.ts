/** The equaliser's work as compiled code. */
import type { CodeMemory, Exports } from '../../../webassembly/index.ts';
import type { LinearProgram } from '../../contract.ts';
import { memoriesOfSection, sectionSize } from '../section.ts';
import type { LinearState, LinearWork } from '../section-work.ts';
import { emitSections, sectionModuleKey } from './section-code.ts';

/** Null where the memory has no code for it. Not for the audio callback. */
export function compiledSections(memory: CodeMemory): LinearWork | null {
  const code = memory.code(sectionModuleKey, emitSections);
  return code === null ? null : new CompiledSections(code);
}

/** All arrays must lie in the code's memory. Audio thread: allocates nothing, never throws, never waits. */
class CompiledSections implements LinearWork {
  readonly #sound: Exports[string];
  readonly #section: Exports[string];
  readonly #finish: Exports[string];

  constructor(code: Exports) {
    this.#sound = code['sound']!;
    this.#section = code['section']!;
    this.#finish = code['finish']!;
  }

  isSound(channels: readonly Float64Array[], offset: number, frames: number): boolean {
    const start = 8 * offset;
    return this.#sound(channels[0]!.byteOffset + start, channels[channels.length - 1]!.byteOffset + start, frames) === 1;
  }

  filter(program: LinearProgram, { coefficients, memory, counts }: LinearState, channels: readonly Float64Array[], offset: number, frames: number): void {
    const last = channels.length - 1;
    const left = channels[0]!.byteOffset + 8 * offset;
    const right = channels[last]!.byteOffset + 8 * offset;
    const { places } = program;
    for (let k = 0; k < places.length; k += 1) {
      const place = 8 * memoriesOfSection * places[k]!;
      this.#section(left, right, frames, memory[0]!.byteOffset + place, memory[last]!.byteOffset + place, coefficients.byteOffset + 8 * sectionSize * k);
    }
    this.#finish(left, right, frames, counts.byteOffset, program.gain);
  }
}
