/** Tables that demonstration and report share. Pure. */
import type { HarmonicFigures } from '../../dsp/circuit/index.ts';
import { harshVerdict, judgeOrder } from '../../dsp/measure/index.ts';
import { writeQuantity, writeValue, type PathSetting, type PathStage } from '../../dsp/path/index.ts';
import { stageById, type Parameter, type SheetDefinition, type StageValues } from '../../dsp/stages/index.ts';
import { writeDb, writePercent } from './harmonic-words.ts';
import { markup, type Markup } from './markup.ts';
import { stageTitle } from './path-words.ts';
import { nameOf } from './value-words.ts';

/** Orders as they are judged, with level, share, sign and phase re a cosine drive. */
export function harmonicsTable(measured: HarmonicFigures, caption: string): Markup {
  const rows = measured.harmonics.map(({ order, db, ratio, signedRatio, phaseDegrees }) => {
    const standing = db >= -160;
    return markup`<tr><th scope="row">H${order}</th><td class="figure">${writeDb(db)}</td><td class="figure">${writePercent(100 * ratio)}</td><td class="figure">${standing ? `${signedRatio < 0 ? '−' : '+'}, ${Math.round(phaseDegrees)}°`.replace('-', '−') : '–'}</td><td>${judgeOrder(order).word}</td></tr>`;
  });
  return markup`<div class="wide"><table class="harmonics"><caption>${caption}</caption>
<thead><tr><th scope="col">order</th><th scope="col" class="figure">dB</th><th scope="col" class="figure">%</th><th scope="col" class="figure">sign, phase</th><th scope="col">judged</th></tr></thead>
<tbody>${rows}</tbody></table></div>
<p class="note">Levels relative to the fundamental; sign and phase relative to a cosine drive. Harsh: ${harshVerdict}; orders 2 and 3 are commonly judged pleasing in small amounts, 4 and 6 are left unjudged. THD of orders 2 to ${Math.max(...measured.harmonics.map(({ order }) => order))}: ${writePercent(100 * measured.thd.f)} % of the fundamental (F), ${writePercent(100 * measured.thd.r)} % of the whole (R).</p>`;
}

/** Values of one stage or sheet; those off their default are marked, with the default beside. */
export function valuesTable(caption: string, { parameters }: Pick<SheetDefinition, 'parameters'>, values: StageValues): Markup {
  const row = (parameter: Parameter): Markup => {
    const value = values[parameter.id] ?? parameter.default;
    const changed = value !== parameter.default;
    return markup`<tr${changed ? markup` class="changed"` : null}><th scope="row">${nameOf(parameter)}</th><td class="figure">${writeValue(value, parameter)}</td><td>${changed ? `changed; default ${writeValue(parameter.default, parameter)}` : ''}</td></tr>`;
  };
  return markup`<div class="wide"><table class="values"><caption>${caption}</caption><thead><tr><th scope="col">value</th><th scope="col" class="figure">is</th><th scope="col">default</th></tr></thead><tbody>${parameters.map(row)}</tbody></table></div>`;
}

/** Parameters that do anything at these values. */
export function relevantParameters({ stage, values }: PathStage): readonly Parameter[] {
  const { parameters, relevant } = stageById(stage);
  const known = relevant?.(values);
  return known === undefined ? parameters : parameters.filter(({ id }) => known.includes(id));
}

/** "2 Push-pull stage, out of circuit" */
export function stageCaption(path: PathSetting, { key, inCircuit, reversed, joined }: PathStage): string {
  return [stageTitle(path, key), ...(inCircuit ? [] : ['out of circuit']), ...(reversed ? ['polarity reversed'] : []), ...(joined ? ['solved in one circuit with the stage before it, on request'] : [])].join(', ');
}

/** "48 kHz × 8, linear phase, 0 dBFS = +24 dBu" */
export function frameWords({ oversamplingFactor, ladder, fullScaleDbu }: PathSetting, baseRateHz: number): string {
  return `${writeQuantity(baseRateHz, 'frequency', 'Hz')} × ${oversamplingFactor}, ${ladder.replace('-', ' ')} resampling, 0 dBFS = ${writeQuantity(fullScaleDbu, 'level', 'dBu')}`;
}
