/** The page begins here: what was saved, the loops there are, the bench, its engine, the root element. */
import { paletteCss } from '../plot/index.ts';
import './fonts.ts';
import { draftsKey, keepSaving, keptKey, readStore, restoreAutosave } from './autosave.ts';
import { Bench } from './bench.ts';
import { createEngine } from './engine.ts';
import { documentCss } from './styles/base.ts';
import { readLoops } from './loops.ts';
import { keepSessionLog } from './session-log-keeper.ts';
import { keepTicket } from './ticket-keeper.ts';
import './elements/stage-bench.ts';

const sheet = new CSSStyleSheet();
sheet.replaceSync(`${paletteCss()}\n${documentCss}`);
document.adoptedStyleSheets.push(sheet);

const baseUrl = new URL('./', document.baseURI).href;
const { loops, refusal } = await readLoops(baseUrl);
const { state, frozen } = restoreAutosave(readStore(), loops, readStore(keptKey), readStore(draftsKey));
const bench = new Bench(state, { nowMs: () => performance.now(), today: localDate }, frozen);
const engine = createEngine({ dispatch: (action) => bench.dispatch(action), loops, baseUrl });

const root = document.createElement('stage-bench');
root.bench = bench;
root.engine = engine;
root.loops = loops;
document.body.append(root);
engine.begin(bench.state);
keepSaving(bench);
keepSessionLog(bench);
keepTicket(bench);
void root.updateComplete.then(() => import('./surfaces.ts'));
if (refusal) bench.dispatch({ kind: 'message', text: refusal, urgent: true });

/** ISO date where the reader is. */
function localDate(): string {
  const now = new Date();
  const two = (number: number) => String(number).padStart(2, '0');
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}
