/** Puts elements on the page of a browser test, dressed as in the bench, and notes what they ask for. */
import { paletteCss } from '../../../ui/plot/index.ts';
import type { Action, BenchActionEvent } from '../../../ui/page/state.ts';
import '../../../ui/page/fonts.ts';
import { documentCss } from '../../../ui/page/styles/base.ts';

const sheet = new CSSStyleSheet();
sheet.replaceSync(`${paletteCss()}\n${documentCss}`);
document.adoptedStyleSheets.push(sheet);

export interface Mounted<T extends HTMLElement> {
  readonly element: T;
  readonly actions: Action[];
}

/** Mounts one element with its properties in an otherwise empty page, fonts loaded. `follow` plays the bench's part. */
export async function mount<T extends HTMLElement & { updateComplete: Promise<unknown> }>(
  tag: string, properties: Partial<T>, options: { widthPx?: number; follow?: (action: Action, element: T) => void } = {},
): Promise<Mounted<T>> {
  document.body.replaceChildren();
  delete document.documentElement.dataset['look'];
  const element = Object.assign(document.createElement(tag) as T, properties);
  const actions: Action[] = [];
  if (options.widthPx !== undefined) element.style.width = `${options.widthPx}px`;
  element.addEventListener('bench-action', (event) => {
    actions.push((event as BenchActionEvent).detail);
    options.follow?.((event as BenchActionEvent).detail, element);
  });
  document.body.append(element);
  await settle(element);
  await Promise.all([...document.fonts].filter(({ family }) => /Source Sans 3|STIX Two Text/.test(family)).map((face) => face.load()));
  return { element, actions };
}

/** After the element and everything in it has drawn itself. */
export async function settle(element: HTMLElement & { updateComplete: Promise<unknown> }): Promise<void> {
  await element.updateComplete;
  for (let frame = 0; frame < 2; frame++) await new Promise((done) => requestAnimationFrame(done));
  await element.updateComplete;
}

/** All elements below a root, through every shadow root. */
export function* everyElement(root: ParentNode): Generator<Element> {
  for (const element of root.querySelectorAll('*')) {
    yield element;
    if (element.shadowRoot) yield* everyElement(element.shadowRoot);
  }
}

export function find<T extends Element = HTMLElement>(root: ParentNode & { shadowRoot?: ShadowRoot | null }, selector: string): T {
  for (const element of everyElement(root.shadowRoot ?? root)) if (element.matches(selector)) return element as T;
  throw new Error(`expected an element ${selector}, found none`);
}
