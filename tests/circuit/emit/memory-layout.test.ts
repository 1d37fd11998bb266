// Where a kernel's code may write: read off its trees, circuit by circuit.
import { describe, expect, it } from 'vitest';
import { buildProgram } from '../../../dsp/circuit/index.ts';
import { kernelCode } from '../../../dsp/circuit/emit/kernel-code.ts';
import { kernelStructure } from '../../../dsp/circuit/emit/kernel-structure.ts';
import { memoryLayout } from '../../../dsp/circuit/emit/memory-layout.ts';
import { blocksOf, operandsOf, partsOf, scalarLane, vectorLanes } from '../../../dsp/webassembly/index.ts';
import type { Expression, FunctionCode, Statement } from '../../../dsp/webassembly/index.ts';
import { stressDocuments } from '../../support/stress.ts';
import { rateHz } from '../support.ts';

interface Access {
  readonly what: 'load' | 'store';
  readonly offset: number;
  readonly bytes: number;
}

const bytesOf = (name: string): number => (/^v128\.(load|store)$/.test(name) ? 16 : 8);
/** Addresses that are a parameter as it is: all but audio samples and the loops over rows and images, whose offsets say only where they begin. */
const isPlain = (address: Expression, code: FunctionCode): boolean => address.kind === 'local' && code.parameters.includes(address.local);

function accessesOf(code: FunctionCode): Access[] {
  const found: Access[] = [];
  const look = (expression: Expression): void => {
    if (expression.kind === 'load' && isPlain(expression.address, code)) found.push({ what: 'load', offset: expression.offset, bytes: bytesOf(expression.name) });
    partsOf(expression).forEach(look);
  };
  const walk = (list: readonly Statement[]): void => {
    for (const statement of list) {
      operandsOf(statement).forEach(look);
      if (statement.kind === 'store' && isPlain(statement.address, code)) found.push({ what: 'store', offset: statement.offset, bytes: bytesOf(statement.name) });
      blocksOf(statement).forEach(walk);
    }
  };
  walk(code.body);
  return found;
}

describe.each([['one lane', scalarLane], ['two lanes', vectorLanes]] as const)('the memory of a kernel for %s', (_, lanes) => {
  it('is reached at whole numbers inside its bounds, and its program, constants and image of rest are never written to', () => {
    for (const { name, document } of stressDocuments().filter((circuit) => !circuit.name.includes(','))) {
      const program = buildProgram(document, { rateHz });
      const structure = kernelStructure(program);
      const layout = memoryLayout(structure, lanes.bytes);
      const sharedStart = Math.min(...Object.values(layout.shared));
      const sharedEnd = Math.min(...Object.values(layout.scratch));
      expect(Math.max(...Object.values(layout.lane)) < sharedStart && Math.max(...Object.values(layout.shared)) < sharedEnd).toBe(true);
      let stores = 0;
      for (const code of kernelCode(structure, lanes).functions) {
        for (const { what, offset, bytes } of accessesOf(code)) {
          const where = `${name}, ${code.name}: ${what} of ${bytes} bytes at ${offset} of ${layout.bytes}, shared ${sharedStart} … ${sharedEnd}`;
          expect(offset % 8, where).toBe(0);
          expect(offset >= 0 && offset + bytes <= layout.bytes, where).toBe(true);
          if (what === 'load') continue;
          stores += 1;
          // A lane's own address is up to one number further on.
          expect(offset + Math.max(bytes, lanes.bytes) <= sharedStart || offset >= sharedEnd, where).toBe(true);
        }
      }
      expect(stores).toBeGreaterThan(structure.ports);
      const { matrix, rightSide, solution } = layout.scratch;
      expect(rightSide - matrix).toBe(8 * structure.ports ** 2);
      expect(layout.bytes - solution).toBeGreaterThanOrEqual(8 * structure.ports);
    }
  });
});
