/** What stands on a stage's curve besides its lines: the loop's spectrum behind, marks by their shapes, partials of a note at the foot. */
import { svg } from 'lit';
import type { LoopSpectrum } from '../../../dsp/measure/index.ts';
import type { CurveMark } from '../../../dsp/stages/contract.ts';
import type { ScenePanel } from '../../plot/index.ts';
import { highestHz, lowestHz } from './response-curve-figure.ts';

/** Partials of a note, and which of them the bell holds up. */
export interface ShownPartial {
  readonly order: number;
  readonly hz: number;
  readonly within: boolean;
}

const xOf = ({ x }: ScenePanel, hz: number): number => x.place(Math.min(highestHz, Math.max(lowestHz, hz)));

/** The loop's long-term spectrum, fine as a ground and in third octaves as steps, on the axis at the right. */
export function spectrumBehind(panel: ScenePanel, { thirds, fine }: LoopSpectrum): unknown {
  const { from, to } = panel.rightScale!.axis;
  const y = (db: number): number => panel.rightScale!.place(Math.min(to, Math.max(from, db)));
  const steps = (bands: LoopSpectrum['thirds']): string => bands.map(({ fromHz, toHz, db }) => `${xOf(panel, fromHz).toFixed(1)},${y(db).toFixed(1)} ${xOf(panel, toHz).toFixed(1)},${y(db).toFixed(1)}`).join(' ');
  // Fine bands are narrower: shown as high as third octaves of the same density would be, nine decibels up, so that the two lie over one another.
  const raised = fine.map((band) => ({ ...band, db: band.db + 10 * Math.log10(fine.length / thirds.length) }));
  return svg`<polygon class="fine" points=${`${panel.left},${panel.bottom} ${steps(raised)} ${panel.right},${panel.bottom}`} style="fill:var(--wash)" />
    <polyline class="thirds" points=${steps(thirds)} style="fill:none;stroke:var(--edge);stroke-width:1px" />`;
}

export function partialsOn(panel: ScenePanel, partials: readonly ShownPartial[]): unknown {
  return partials.map(({ hz, within }) => svg`<line class=${within ? 'partial within' : 'partial'} x1=${xOf(panel, hz)} x2=${xOf(panel, hz)} y1=${panel.bottom - (within ? 18 : 10)} y2=${panel.bottom}
    style=${within ? 'stroke:var(--pen);stroke-width:3px' : 'stroke:var(--pencil);stroke-width:1.5px'} />`);
}

const line = 'fill:none;stroke:var(--pen);stroke-width:2px';
const point = 'fill:var(--sheet);stroke:var(--pen);stroke-width:2px';

/** A span as a bracket, points by shape: a cross where it is steepest, a triangle at the foot, a ring at turnover. */
export function markShape(panel: ScenePanel, { kind, fromHz, toHz, db }: CurveMark): unknown {
  const { axis } = panel.leftScale;
  const y = panel.leftScale.place(Math.min(axis.to, Math.max(axis.from, db)));
  const [from, to] = [xOf(panel, fromHz), xOf(panel, toHz)];
  switch (kind) {
    case 'bandwidth': case 'steep-span': return svg`<path data-mark=${kind} d=${`M${from} ${y - 5}v10M${from} ${y}H${to}M${to} ${y - 5}v10`} style=${line} />`;
    case 'steepest': return svg`<path data-mark=${kind} d=${`M${from - 5} ${y - 5}l10 10M${from - 5} ${y + 5}l10 -10`} style=${line} />`;
    case 'undershoot': return svg`<path data-mark=${kind} d=${`M${from - 5} ${y + 8}h10l-5 -8z`} style=${point} />`;
    case 'turnover': return svg`<circle data-mark=${kind} cx=${from} cy=${y} r="4" style=${point} />`;
  }
}
