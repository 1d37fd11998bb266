/** From a stage's values to its transformer. */
import type { StageValues } from '../contract.ts';
import { coreOf } from './transformer-core.ts';
import type { TransformerDesign } from './transformer-parts.ts';
import { choiceOf, numbersOf } from './values.ts';

/** `sourceOhms` is what stands between the driver and the primary. */
export function transformerDesignOf(values: StageValues, sourceOhms: number): TransformerDesign {
  const v = numbersOf(values);
  const gapped = choiceOf(values, 'gap') === 'gapped';
  return {
    sourceOhms,
    turnsRatio: v('turnsRatio'),
    primaryOhms: v('primaryOhms'),
    secondaryOhms: v('secondaryOhms'),
    primaryHenries: v('primaryHenries'),
    core: coreOf(values, v('primaryHenries')),
    gapHenries: gapped ? v('gapHenries') : null,
    directAmperes: gapped ? v('directAmperes') : 0,
    leakageHenries: v('leakageHenries'),
    primaryFarads: v('primaryFarads'),
    secondaryFarads: v('secondaryFarads'),
    damper: choiceOf(values, 'damper') === 'on' ? { ohms: v('damperOhms'), farads: v('damperFarads') } : null,
  };
}
