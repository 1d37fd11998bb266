/** A demonstration as one file: a page that needs nothing but a browser, reaches for nothing, and says what it is. Pure: the same content gives the same bytes. */
import { sha256 } from '../../../dsp/math/index.ts';
import type { TrialHarmonics } from '../../../dsp/measure/index.ts';
import { writeQuantity } from '../../../dsp/path/index.ts';
import { writeBase64 } from '../../../dsp/setting/base64.ts';
import { numericsVersion, settingTextSha256, writeSetting } from '../../../dsp/setting/index.ts';
import { cautions, stageById } from '../../../dsp/stages/index.ts';
import { documentPage } from '../document-page.ts';
import { fileStem } from '../file-stem.ts';
import { writeDb } from '../harmonic-words.ts';
import { dataMarkup, markup, trusted, type Markup } from '../markup.ts';
import { notModelled, pathLine, trialNames } from '../path-words.ts';
import { frameWords, harmonicsTable, relevantParameters, stageCaption, valuesTable } from '../tables.ts';
import { blindMarkup, playerMarkup } from './controls.ts';
import type { DemonstrationContent } from './content.ts';
import { demonstrationCss } from './style.ts';

export const demonstrationFormat = 'stagebench/demonstration';

/** @param script of the player, one classic script. @throws RangeError where it could end its own element */
export function demonstrationPage(content: DemonstrationContent, script: string): string {
  if (/<\/script|<!--/i.test(script)) throw new RangeError('script: expected nothing that ends its element, got some');
  const { title, words, setting, onTrial, sound, blindTrials } = content;
  const settingText = writeSetting(setting);
  const names = trialNames(setting.path, onTrial);
  const policy = `default-src 'none'; script-src '${hashOf(script)}'; style-src '${hashOf(demonstrationCss)}'; base-uri 'none'; form-action 'none'`;
  return documentPage({ title, policy, css: demonstrationCss, body: markup`<header><h1>${title}</h1>
<p class="note">A demonstration made with Stagebench, a bench that computes analogue audio stages${content.date === null ? '' : `, ${content.date}`}. Everything is in this one file; it fetches nothing and sends nothing.</p></header>
<main>
<section aria-labelledby="listen"><h2 id="listen">Listen</h2>
<p>${programmeWords(content)} On trial: ${names.what}.</p>
<p class="caution">Begin quietly: the page starts at −20 dB, and your own volume comes on top. Loud sound over a long time damages hearing. ${cautions['line-output']}</p>
<noscript><p>The player needs scripts, which this browser has switched off; the words and figures below stand as they are.</p></noscript>
${playerMarkup(names, sound)}</section>
${blindTrials === null ? null : blindMarkup(blindTrials, names)}
<section aria-labelledby="explanation"><h2 id="explanation">What it is</h2>
${paragraphs(words)}</section>
${figures(content, settingText)}
</main>
<script type="application/json" id="facts">${dataMarkup(factsOf(content, settingText))}</script>
<script type="text/plain" id="sound-in">${trusted(writeBase64(sound.in))}</script>
<script type="text/plain" id="sound-out">${trusted(writeBase64(sound.out))}</script>
<script>${trusted(script)}</script>` });
}

/** Of an inline element, as Content Security Policy Level 3 (W3C) has it. */
function hashOf(text: string): string {
  const hex = sha256(new TextEncoder().encode(text));
  return `sha256-${writeBase64(Uint8Array.from({ length: 32 }, (_, k) => parseInt(hex.slice(2 * k, 2 * k + 2), 16)))}`;
}

/** Empty lines part paragraphs, single ones break lines. */
function paragraphs(words: string): Markup[] {
  return words.split(/\n\s*\n/).map((paragraph) => paragraph.trim()).filter((paragraph) => paragraph !== '')
    .map((paragraph) => markup`<p>${paragraph.split('\n').map((line, k) => (k === 0 ? markup`${line}` : markup`<br>${line}`))}</p>
`);
}

function programmeWords({ programme: { title, region }, sound }: DemonstrationContent): string {
  const seconds = sound.frames / sound.rateHz;
  return `${title}${region === null ? '' : `, ${region.startSeconds.toFixed(2)} to ${region.endSeconds.toFixed(2)} s`}: ${seconds.toFixed(1)} s that go round without a gap.`;
}

const encodingWords = { pcm16: '16 bits', pcm24: '24 bits', pcm32: '32 bits', float32: '32-bit floats', float64: '64-bit floats' } as const;

function figures(content: DemonstrationContent, settingText: string): Markup {
  const { setting, onTrial, harmonics, sound } = content;
  const { path } = setting;
  const { match } = sound;
  const named = new Set(path.stages.flatMap(({ stage }) => stageById(stage).cautions).filter((name) => name !== 'line-output'));
  const stem = fileStem(setting.title);
  return markup`<section aria-labelledby="figures"><h2 id="figures">The figures</h2>
<p>The path: ${pathLine(path)}. Computed at ${frameWords(path, sound.rateHz)}.</p>
${[...named].map((name) => markup`<p class="caution">${cautions[name]}</p>`)}
<h3>Made equally loud</h3>
<p>${trialNames(path, onTrial).in}: ${writeDb(match.inGainDb, 2)} dB, loudness before ${match.inLufs.toFixed(2).replace('-', '−')} LUFS; ${trialNames(path, onTrial).out.toLowerCase()}: ${writeDb(match.outGainDb, 2)} dB, loudness before ${match.outLufs.toFixed(2).replace('-', '−')} LUFS; left over ${Math.abs(match.residualDb).toFixed(2)} dB (gated, K-weighted: Recommendation ITU-R BS.1770).${sound.trimDb < 0 ? ` Both turned down by another ${Math.abs(sound.trimDb).toFixed(2)} dB, so that nothing goes beyond full scale.` : ''} Both are aligned to the sample and of one polarity.${sound.drift > 0.001 ? ` The path had not wholly settled: where the sound goes round it steps by ${(100 * sound.drift).toFixed(1)} % of its level.` : ''} Held in ${encodingWords[sound.encoding]} at ${writeQuantity(sound.rateHz, 'frequency', 'Hz')}, ${sound.channels === 1 ? 'mono' : 'stereo'}.</p>
<h3>Harmonics</h3>
${harmonicFigures(harmonics)}
<h3>Values</h3>
${path.stages.map((stage) => valuesTable(stageCaption(path, stage), { parameters: relevantParameters(stage) }, stage.values))}
<p>Not modelled: ${notModelled(path).join('; ')}.</p>
<p><a download="${stem}.setting.json" href="data:application/json;base64,${trusted(writeBase64(new TextEncoder().encode(settingText)))}">The setting in this page</a>, to be opened on the bench. SHA-256 <code>${settingTextSha256(settingText)}</code>, numerics ${numericsVersion}.</p>
</section>`;
}

function harmonicFigures({ frequencyHz, levelDbu, scope, measured }: TrialHarmonics): Markup {
  const tone = `${writeQuantity(frequencyHz, 'frequency', 'Hz')} at ${writeQuantity(levelDbu, 'level', 'dBu')} from the source`;
  if (measured === null) return markup`<p>With ${tone} something oscillates or is bistable: there are no harmonics to give.</p>`;
  return harmonicsTable(measured, `${scope === 'path' ? 'The whole path' : 'The stage alone, at the level that reaches it'}, ${tone}; steady state in volts, without resampling`);
}

/** What a program may read from the page: everything that is said in it, and the setting itself. */
function factsOf({ title, date, onTrial, programme, harmonics, sound, blindTrials, setting }: DemonstrationContent, settingText: string): object {
  const { path } = setting;
  const { encoding, rateHz, channels, frames, match: { inGainDb, outGainDb, residualDb, inLufs, outLufs }, trimDb, drift } = sound;
  const { frequencyHz, levelDbu, scope, measured } = harmonics;
  const place = onTrial.kind === 'path' ? null : path.stages.findIndex(({ key }) => key === onTrial.key) + 1;
  return {
    format: demonstrationFormat, version: 1, title, date, numerics: numericsVersion,
    onTrial: place === null ? { kind: 'path' } : { kind: onTrial.kind, place, ...(onTrial.kind === 'without' ? { mechanism: onTrial.mechanism } : {}) },
    programme, sound: { encoding, rateHz, channels, frames, trimDb, drift, inSha256: sha256(sound.in), outSha256: sha256(sound.out) },
    levelMatch: { inGainDb, outGainDb, residualDb, inLufs, outLufs },
    harmonics: { frequencyHz, levelDbu, scope, thd: measured?.thd ?? null, orders: measured?.harmonics.map(({ order, db, ratio, phaseDegrees }) => ({ order, db: Number.isFinite(db) ? db : null, ratio, phaseDegrees })) ?? null },
    blindTrials, settingSha256: settingTextSha256(settingText), setting: JSON.parse(settingText) as unknown,
  };
}
