/** A scene's shapes as SVG on the page, in the page's colours. Only what has changed since the last drawing is touched. */
import { nothing, svg } from 'lit';
import { fontOf, itemPath } from '../../plot/index.ts';
import type { SceneItem } from '../../plot/index.ts';

export function drawItem(item: SceneItem): unknown {
  if (item.kind === 'words') {
    const { x, y, anchor, text, face, sizePx, colour, clear, of } = item;
    return svg`<text class=${clear ? 'clear' : ''} data-of=${of ?? nothing} x=${x.toFixed(1)} y=${y.toFixed(1)} text-anchor=${anchor} style=${`font:${fontOf(face, sizePx)};fill:var(--${colour})`}>${text}</text>`;
  }
  const path = itemPath(item);
  if (path === '') return nothing;
  return svg`<path data-of=${item.of ?? nothing} d=${path} style=${styleOf(item)} />`;
}

function styleOf(item: Exclude<SceneItem, { kind: 'words' }>): string {
  if (item.kind === 'area') return `fill:var(--${item.fill})`;
  const { colour, widthPx, dash } = item.pen;
  const fill = item.kind === 'runs' ? 'none' : `var(--${item.filled ? colour : 'sheet'})`;
  return `fill:${fill};stroke:var(--${colour});stroke-width:${widthPx}px${dash.length > 0 ? `;stroke-dasharray:${dash.join(' ')}` : ''}`;
}
