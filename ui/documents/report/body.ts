/** The sheets of a report: everything that a setting is, what was computed of it and what was said of it, for reading and for printing. Pure. */
import { jointWords, settingSha256, numericsVersion, ruleWords, type Setting, type SettingNote } from '../../../dsp/setting/index.ts';
import { supply, surroundings, writeQuantity } from '../../../dsp/path/index.ts';
import { cautions, stageById, type StageReading, type StageReport } from '../../../dsp/stages/index.ts';
import { circuitPicture } from '../circuit-picture.ts';
import { writeDb } from '../harmonic-words.ts';
import { markup, trusted, type Markup } from '../markup.ts';
import { notModelled, pathLine, stageTitle } from '../path-words.ts';
import { frameWords, harmonicsTable, relevantParameters, stageCaption, valuesTable } from '../tables.ts';
import { writeComputed } from '../value-words.ts';
import type { ReportContent } from './content.ts';
import { figureWords, type TitledContent } from './sections.ts';

export function reportBody(content: ReportContent): Markup {
  const { setting, date } = content;
  return markup`<header><h1 tabindex="-1">${setting.title}</h1>
<p class="note">Report of a setting${date === null ? '' : `, ${date}`}; computed by Stagebench.</p></header>
${identity(content)}
${cautionsOf(setting)}
${setting.path.stages.map((_, index) => stageSheet(content, index))}
${roundThePath(setting)}
${content.sections.map(sectionMarkup)}
${harmonics(content)}
${levelMatch(setting)}
${content.figures.length === 0 ? null : markup`<section><h2>Kept figures</h2>${content.figures.map(({ label, svg }) => markup`<figure><figcaption class="note">${label}</figcaption>${trusted(svg)}</figure>`)}</section>`}
${notes(setting.notes)}
${content.blind.length === 0 ? null : markup`<section><h2>Blind comparisons of this session</h2>${content.blind.map(({ date: day, compared, settingSha256: of, words }) => markup`<h3>${day}: ${compared}</h3>${words.map((sentence) => markup`<p>${sentence}</p>`)}<p class="note">Setting <code>${of}</code></p>`)}</section>`}
${content.exposure.length === 0 ? null : markup`<section><h2>Exposure</h2>${content.exposure.map((sentence) => markup`<p>${sentence}</p>`)}</section>`}
${content.log.length === 0 ? null : markup`<section><h2>Lately on the bench</h2><div class="wide"><table><thead><tr><th scope="col">when</th><th scope="col">what</th></tr></thead><tbody>${content.log.map(({ at, words }) => markup`<tr><td>${at}</td><td>${words}</td></tr>`)}</tbody></table></div></section>`}
${limits(setting)}`;
}

function identity({ setting, baseRateHz, programme }: ReportContent): Markup {
  const { path } = setting;
  const row = (label: string, words: Markup | string): Markup => markup`<tr><th scope="row">${label}</th><td>${words}</td></tr>`;
  return markup`<section aria-label="Identity"><table class="identity"><tbody>
${row('path', pathLine(path))}
${row('computed at', frameWords(path, baseRateHz))}
${row('setting', markup`SHA-256 of its file <code>${settingSha256(setting)}</code>, numerics ${numericsVersion}`)}
${programme === null ? null : row('programme', markup`${programme.title}, ${programme.words}; SHA-256 of its file ${programme.sha256 === null ? 'none' : markup`<code>${programme.sha256}</code>`}`)}
</tbody></table></section>`;
}

function cautionsOf({ path }: Setting): Markup[] {
  const named = new Set(path.stages.flatMap(({ stage }) => stageById(stage).cautions));
  return [...named].map((name) => markup`<p class="caution"><strong>Caution.</strong> ${cautions[name]}</p>`);
}

function stageSheet({ setting, stages }: ReportContent, index: number): Markup {
  const { path, rules, joints } = setting;
  const stage = path.stages[index]!;
  const definition = stageById(stage.stage);
  const report = stages[index] ?? null;
  const drawing = definition.drawingFor?.(stage.values) ?? definition.drawing;
  const parameters = relevantParameters(stage);
  const name = stageTitle(path, stage.key);
  const rule = rules?.[index] ?? null;
  const joint = joints?.[index] ?? null;
  const facts = [
    definition.invertsFor?.(stage.values) ?? definition.inverts ? 'It inverts.' : '',
    rule === null ? '' : `As frozen: ${ruleWords(rule)}.`,
    joint === null ? '' : `The joint before it: ${jointWords(joint)}.`,
  ].filter((fact) => fact !== '');
  return markup`<section class="stage"><h2>${stageCaption(path, stage)}</h2>
${drawing ? markup`<div class="picture">${circuitPicture({ drawing, name, parameters, values: stage.values, nodeVolts: report?.nodeVolts ?? {} })}</div>` : null}
${facts.length > 0 ? markup`<p>${facts.join(' ')}</p>` : null}
${valuesTable('Values', { parameters }, stage.values)}
${report === null ? null : readings(report)}
</section>`;
}

function readings({ readings: figures, remarks }: StageReport): Markup {
  const row = ({ label, value, quantity, unit, note }: StageReading): Markup =>
    markup`<tr><th scope="row">${label}</th><td class="figure">${writeComputed(value, quantity, unit)}</td><td>${note ?? ''}</td></tr>`;
  return markup`${figures.length === 0 ? null : markup`<div class="wide"><table class="readings"><caption>Readings at rest</caption><tbody>${figures.map(row)}</tbody></table></div>`}
${remarks.map(({ label, words }) => markup`<p>${label}: ${words}</p>`)}`;
}

function roundThePath({ path }: Setting): Markup | null {
  if (path.surroundings === null && path.supply === null) return null;
  return markup`<section><h2>Round the path</h2>
${path.surroundings === null ? null : valuesTable(surroundings.title, surroundings, path.surroundings)}
${path.supply === null ? null : valuesTable(supply.title, supply, path.supply)}</section>`;
}

function sectionMarkup({ title, content: { rows, words } }: TitledContent): Markup {
  const row = (at: number): Markup => {
    const { about, label, note } = rows[at]!;
    return markup`<tr><th scope="row">${rows[at - 1]?.about === about ? '' : about}</th><td>${label}</td><td class="figure">${figureWords(rows[at]!)}</td><td>${note ?? ''}</td></tr>`;
  };
  return markup`<section><h2>${title}</h2>
${rows.length === 0 ? null : markup`<div class="wide"><table class="figures"><thead><tr><th scope="col">of</th><th scope="col">figure</th><th scope="col" class="figure">is</th><th scope="col">remark</th></tr></thead><tbody>${rows.map((_, at) => row(at))}</tbody></table></div>`}
${words.map((sentence) => markup`<p>${sentence}</p>`)}</section>`;
}

function harmonics({ harmonics: found, harmonicsRefused }: ReportContent): Markup | null {
  if (found === null) return harmonicsRefused === null ? null : markup`<section><h2>Harmonics of the whole path</h2><p>${harmonicsRefused}</p></section>`;
  const { frequencyHz, levelDbu, measured } = found;
  const tone = `${writeQuantity(frequencyHz, 'frequency', 'Hz')} at ${writeQuantity(levelDbu, 'level', 'dBu')} from the source`;
  return markup`<section><h2>Harmonics of the whole path</h2>
${measured === null ? markup`<p>With ${tone} something oscillates or is bistable: there are no harmonics to give.</p>`
    : markup`${harmonicsTable(measured, `${tone}; steady state in volts at the internal rate, without resampling`)}
<p>Fundamental at the output ${writeComputed(measured.fundamentalDbu, 'level', 'dBu')}. Weighted by n²/4 (Shorter, 1950): ${(100 * measured.weighted.orderSquared).toPrecision(2)} %.</p>`}</section>`;
}

function levelMatch({ levelMatch: match, path }: Setting): Markup {
  if (match === null) return markup`<section><h2>Level match</h2><p>None is stored in this setting.</p></section>`;
  const { onTrial, inGainDb, outGainDb, residualDb, programme } = match;
  const what = onTrial === 'path' ? 'the whole path' : `stage ${onTrial.stageIndex + 1} ${stageById(path.stages[onTrial.stageIndex]!.stage).title}${onTrial.without === undefined ? '' : `, without ${onTrial.without}`}`;
  return markup`<section><h2>Level match</h2>
<p>On trial ${what}, on ${programme}: in circuit ${writeDb(inGainDb, 2)} dB, out of circuit ${writeDb(outGainDb, 2)} dB, left over ${Math.abs(residualDb).toFixed(2)} dB. Gated K-weighted loudness, Recommendation ITU-R BS.1770; the louder one is turned down.</p></section>`;
}

function notes(all: readonly SettingNote[]): Markup | null {
  if (all.length === 0) return null;
  return markup`<section><h2>Notes</h2>
${all.map((note) => markup`<div class="kept"><h3>${note.date}${note.verdict === undefined ? '' : `: ${note.verdict}`}</h3><p>${note.text}</p>${pinned(note)}</div>`)}</section>`;
}

function pinned({ pin }: SettingNote): Markup | null {
  if (pin === undefined) return null;
  const { region, programme } = pin;
  if (programme === null) return null;
  return markup`<p class="note">On ${programme.title}, ${region === null ? 'all of it' : `${region.startSeconds.toFixed(2)} to ${region.endSeconds.toFixed(2)} s`}.</p>`;
}

function limits({ path }: Setting): Markup {
  return markup`<section><h2>What this report is not</h2>
<p>It tells what a model of the circuits computes, not what a device was measured to do. It is no building instruction, no statement of safety or of conformity with any standard, and no promise of how a built device will sound. What ears found holds for those listeners, that programme, that level and that equipment.</p>
<p>Not modelled: ${notModelled(path).join('; ')}.</p></section>`;
}
