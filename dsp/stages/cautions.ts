/** Wording of the cautions, once. */
import type { CautionName } from './contract.ts';

/** Shown in full beside every stage that names it; not dismissible. */
export const cautions: Readonly<Record<CautionName, string>> = {
  'lethal-voltage':
    'Valve stages use plate supplies of several hundred volts, which can kill and stay on capacitors after switch-off. '
    + 'This bench models them; it gives no building instructions. Work on such equipment is for persons trained and, where the law asks for it, '
    + 'licensed to do it, under the local electrical code and product-safety standards such as IEC 62368-1.',
  'line-output':
    'Before anything played from here goes into real equipment: start low, with monitors down, and bring the level up slowly. '
    + 'Nothing here needs access to the inside of powered equipment; such work is for persons trained and, where the law asks for it, '
    + 'licensed to do it, under the local electrical code.',
};
