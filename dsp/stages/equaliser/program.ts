/** The equaliser's program: matched sections for every section that is not off. */
import { decibelsToRatio } from '../../math/index.ts';
import type { LinearProgram, StageValues } from '../contract.ts';
import { numberOf } from '../shared/values.ts';
import { frequencyMap } from './frequency-map.ts';
import { matchedSections } from './match.ts';
import { prototypeOf, sectionsOf } from './prototype.ts';
import { sectionSize, writeSection } from './section.ts';
import { sectionCount } from './table.ts';

export function equaliserProgram(values: StageValues, rateHz: number): LinearProgram {
  const map = frequencyMap(rateHz);
  const sections = sectionsOf(values);
  const count = sections.length * map.order;
  const coefficients = new Float64Array(sectionSize * count);
  const places = new Int32Array(count);
  let k = 0;
  for (const section of sections) {
    matchedSections(map, prototypeOf(section), rateHz).forEach((matched, branch) => {
      writeSection(matched, coefficients, sectionSize * k);
      places[k] = map.order * (section.number - 1) + branch;
      k += 1;
    });
  }
  return { kind: 'linear', rateHz, gain: decibelsToRatio(numberOf(values, 'makeUpDb')), coefficients, places, placeCount: sectionCount * map.order };
}
