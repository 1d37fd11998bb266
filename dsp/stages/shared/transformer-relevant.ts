/** Which of a transformer's parameters do anything. */
import type { StageValues } from '../contract.ts';

/** What a parameter waits for: the choice, and the option that must be taken. */
const waitsFor: Readonly<Record<string, readonly [choice: string, option: string]>> = {
  damperOhms: ['damper', 'on'], damperFarads: ['damper', 'on'],
  gapHenries: ['gap', 'gapped'], directAmperes: ['gap', 'gapped'],
  saturationDbu: ['core', 'hysteresis'],
};

/** Whether the choices of `values` let this parameter act; a choice that the stage does not have holds nothing back. */
export function actsIn(values: StageValues, id: string): boolean {
  const condition = waitsFor[id];
  return condition === undefined || values[condition[0]] === undefined || values[condition[0]] === condition[1];
}
