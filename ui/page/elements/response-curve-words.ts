/** A curve in words and as a table. */
import { html, nothing } from 'lit';
import { writeQuantity } from '../../../dsp/path/index.ts';
import type { LoopSpectrum } from '../../../dsp/measure/index.ts';
import type { StageCurve } from '../../../dsp/stages/contract.ts';

/** Three significant digits: "1.26 kHz". */
export const writeHz = (hz: number): string => writeQuantity(Number(hz.toPrecision(3)), 'frequency', 'Hz');
export const writeSigned = (db: number): string => `${db > 0 ? '+' : db < 0 ? '−' : ''}${Math.abs(db).toFixed(2)} dB`;

/** A line's value between its points, linear in the logarithm of frequency. */
function valueAt(hertz: readonly number[], db: readonly number[], hz: number): number {
  let above = hertz.findIndex((each) => each >= hz);
  if (above < 0) above = hertz.length - 1;
  if (above === 0) return db[0]!;
  const [low, high] = [hertz[above - 1]!, hertz[above]!];
  if (high === low) return db[above]!;
  return db[above - 1]! + ((db[above]! - db[above - 1]!) * Math.log(hz / low)) / Math.log(high / low);
}

/** "1.26 kHz: sum +2.10 dB, 1 bell +2.00 dB" */
export function readAt({ hertz, traces }: StageCurve, hz: number): string {
  return `${writeHz(hz)}: ${traces.map(({ label, db }) => `${label} ${writeSigned(valueAt(hertz, db, hz))}`).join(', ')}`;
}

/** Nominal third octaves, Hz (IEC 61260-1, table of nominal midband frequencies). */
const rowsHz = [
  20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 8000, 10_000, 12_500, 16_000, 20_000,
];

/** Of a third octave, which silence has none of. */
const writeLevel = (db: number | undefined): string => (db === undefined ? '' : db < -200 ? 'silent' : db.toFixed(1).replace('-', '−'));

const markNames = { steepest: 'steepest', 'steep-span': 'steep', undershoot: 'undershoot', bandwidth: 'bandwidth', turnover: 'turnover' } as const;

/** What is marked, then the lines by third octaves. */
export function curveTable({ hertz, traces, marks }: StageCurve, spectrum: LoopSpectrum | null): unknown {
  return html`
    ${marks.length === 0 ? nothing : html`<table><caption class="unseen">Read-outs</caption>
      <thead><tr><th scope="col" class="words-cell">read-out</th><th scope="col">at</th><th scope="col" class="words-cell"></th></tr></thead>
      <tbody>${marks.map(({ kind, section, fromHz, toHz, words }) => html`<tr><th scope="row" class="words-cell">${section ?? ''} ${markNames[kind]}</th>
        <td>${fromHz === toHz ? writeHz(fromHz) : `${writeHz(fromHz)} to ${writeHz(toHz)}`}</td><td class="words-cell">${words}</td></tr>`)}</tbody></table>`}
    <table><caption class="unseen">Level over frequency, dB</caption>
      <thead><tr><th scope="col">frequency</th>${traces.map(({ label }) => html`<th scope="col">${label}, dB</th>`)}${spectrum ? html`<th scope="col">loop, dB re full-scale sine</th>` : nothing}</tr></thead>
      <tbody>${rowsHz.map((hz, row) => html`<tr><th scope="row">${writeQuantity(hz, 'frequency', 'Hz')}</th>${traces.map(({ db }) => html`<td>${writeSigned(valueAt(hertz, db, hz)).replace(' dB', '')}</td>`)}${spectrum ? html`<td>${writeLevel(spectrum.thirds[row]?.db)}</td>` : nothing}</tr>`)}</tbody></table>`;
}
