/** What supplies a path, as a sheet. */
import type { SheetDefinition } from '../../stages/index.ts';
import { parameters } from './table.ts';

export const supply: SheetDefinition = {
  id: 'supply',
  title: 'Supply and noise',
  shortTitle: 'supply',
  cautions: [],
  parameters,
  drawing: null,
};
