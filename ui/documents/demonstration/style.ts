/** Look of a demonstration page. No style stands in an attribute: the page's own rules forbid that. */
import { paletteCss } from '../../plot/index.ts';
import { paperCss } from '../paper-style.ts';

export const demonstrationCss = `${paletteCss()}
${paperCss}
#player { border: 1px solid var(--edge); background: var(--sheet); padding: 16px; margin-block: 12px; }
#player > div { display: flex; flex-wrap: wrap; gap: 12px; align-items: stretch; }
#player > div + div { margin-top: 12px; align-items: center; }
button { font: inherit; color: inherit; background: var(--sheet); border: 1px solid var(--edge); border-radius: 0; min-height: 44px; min-width: 44px; padding: 4px 14px; cursor: pointer; }
button:hover:not([disabled]) { text-decoration: underline; text-underline-offset: 3px; }
button[disabled] { color: var(--pencil); cursor: default; }
#play { min-width: 8rem; font-weight: 600; }
#ways, #tokens { display: flex; flex: 1 1 20rem; }
#ways button, #tokens button { flex: 1 1 0; min-height: 56px; font-weight: 600; border-width: 2px; }
#ways button + button, #tokens button + button { border-left-width: 0; }
[aria-pressed='true'] { background: var(--ink); color: var(--sheet); border-color: var(--ink); }
[aria-pressed='true']::before { content: '• '; }
#tokens { font-size: 1.25rem; }
#answers { display: flex; flex-wrap: wrap; gap: 12px; }
progress { flex: 1 1 10rem; height: 6px; border: 1px solid var(--edge); background: var(--sheet); appearance: none; border-radius: 0; }
progress::-webkit-progress-bar { background: var(--sheet); }
progress::-webkit-progress-value { background: var(--ink); }
progress::-moz-progress-bar { background: var(--ink); }
#level { min-width: 4rem; text-align: center; font-weight: 600; }
.letters { display: flex; gap: 8px; align-items: center; min-height: 44px; }
.letters input { width: 20px; height: 20px; accent-color: var(--pen); margin: 0; }
#error { color: var(--madder); font-weight: 600; }
kbd { font: inherit; font-weight: 600; }
@media (forced-colors: active) {
  [aria-pressed='true'] { forced-color-adjust: none; background: Highlight; color: HighlightText; border-color: Highlight; }
  button[disabled] { color: GrayText; }
}
@media print { #player, #blind-controls, .keys { display: none !important; } }
`;
