/** What stands round a path, as a sheet. */
import type { SheetDefinition } from '../../stages/index.ts';
import { drawing } from './drawing.ts';
import { parameters } from './table.ts';

export const surroundings: SheetDefinition = {
  id: 'surroundings',
  title: 'Surroundings of the path',
  shortTitle: 'surroundings',
  cautions: ['line-output'],
  parameters,
  drawing,
};
