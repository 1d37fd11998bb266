import { describe, expect, it } from 'vitest';
import { figureSvg } from '../../ui/plot/index.ts';
import { figureOf, fixtures, harmonicsFigure, panelOf, traceOf } from './figures.ts';

interface Element {
  readonly name: string;
  readonly attributes: Readonly<Record<string, string>>;
  readonly children: (Element | string)[];
}

const unescape = (text: string) => text.replace(/&(amp|lt|gt|quot|apos);/g, (_, name: string) => ({ amp: '&', lt: '<', gt: '>', quot: '"', apos: "'" })[name]!);

/** Elements of a document, by the rules of XML that such a file needs; throws where it is not well formed. */
function parseXml(text: string): Element {
  const root: Element = { name: '', attributes: {}, children: [] };
  const open = [root];
  let rest = text;
  while (rest !== '') {
    const [, words, tag] = /^([^<]*)(<[^<>]*>)?/.exec(rest)! as unknown as [string, string, string | undefined];
    if (/&(?!(amp|lt|gt|quot|apos);)/.test(words)) throw new Error(`bare ampersand in "${words}"`);
    if (words.trim() !== '') open.at(-1)!.children.push(unescape(words));
    rest = rest.slice(words.length + (tag?.length ?? 0));
    if (tag === undefined) {
      if (rest !== '') throw new Error(`not a tag: ${rest}`);
      break;
    }
    if (tag.startsWith('</')) {
      const closed = open.pop()!;
      if (`</${closed.name}>` !== tag) throw new Error(`${tag} closes ${closed.name}`);
      continue;
    }
    const parts = /^<([a-zA-Z][\w-]*)((?:\s+[\w:-]+="[^"<]*")*)\s*(\/?)>$/.exec(tag);
    if (!parts) throw new Error(`not a tag: ${tag}`);
    const pairs = [...parts[2]!.matchAll(/([\w:-]+)="([^"]*)"/g)].map(([, name, value]) => [name!, unescape(value!)] as const);
    if (new Set(pairs.map(([name]) => name)).size !== pairs.length) throw new Error(`an attribute twice: ${tag}`);
    const element: Element = { name: parts[1]!, attributes: Object.fromEntries(pairs), children: [] };
    open.at(-1)!.children.push(element);
    if (parts[3] === '') open.push(element);
  }
  if (open.length !== 1) throw new Error(`${open.at(-1)!.name} is not closed`);
  return root.children.find((child): child is Element => typeof child !== 'string')!;
}

function* all(element: Element): Generator<Element> {
  yield element;
  for (const child of element.children) if (typeof child !== 'string') yield* all(child);
}

describe('the reader of these tests', () => {
  it.each(['<a><b></a></b>', '<a x="1" x="2"/>', '<a>&</a>', '<a', '<a><b>', '<a x=1/>'])('refuses %s', (text) => { expect(() => parseXml(text)).toThrow(); });
});

describe('a figure as SVG', () => {
  it.each(Object.keys(fixtures) as (keyof typeof fixtures)[])('of %s is well formed, named and described, and stands by itself', (name) => {
    const figure = fixtures[name];
    const svg = figureSvg(figure);
    const root = parseXml(svg);
    expect([root.name, root.attributes['xmlns'], root.attributes['role']]).toEqual(['svg', 'http://www.w3.org/2000/svg', 'img']);
    const [title, description] = root.children as Element[];
    expect([title!.name, title!.children, description!.name]).toEqual(['title', [figure.title], 'desc']);
    expect(description!.children.join('')).toContain(figure.caption);
    // Colours and fonts by themselves: no style sheet, no other file; only the name of the language is an address.
    expect(svg).not.toMatch(/var\(|url\(|href|oklch|NaN|undefined|Infinity/);
    expect(svg.match(/https?:/g)).toHaveLength(1);
    expect([...all(root)].filter((each) => each.name === 'text').every((each) => /'(Source Sans 3|STIX Two Text)', '/.test(each.attributes['style'] ?? ''))).toBe(true);
  });

  it('carries words of any kind', () => {
    const nasty = 'a < b & "c" > \'d\' \u0007\u2013 µΩ';
    const root = parseXml(figureSvg(figureOf([panelOf([traceOf('x"<&', [-60, 30], [-20, -30], { label: nasty }), traceOf('other', [-60, 30], [-120, -130])])], { title: nasty, caption: nasty })));
    expect([...all(root)].filter(({ name }) => name === 'text').flatMap(({ children }) => children)).toContain(nasty.replace('\u0007', ''));
  });

  it('takes the size asked for', () => {
    const root = parseXml(figureSvg(harmonicsFigure(), { widthPx: 1040, heightPx: 600 }));
    expect(root.attributes['width']).toBe('1040');
    expect(Math.abs(Number(root.attributes['height']) - 600)).toBeLessThan(4);
    for (const { name, attributes } of all(root)) if (name === 'text') expect(Number(attributes['y']) <= 600, attributes['y']).toBe(true);
  });

  it('in the dark look has light ink on a dark sheet', () => {
    const light = (svg: string) => parseInt(/<rect[^>]*fill="#(..)/.exec(svg)![1]!, 16);
    expect(light(figureSvg(harmonicsFigure()))).toBeGreaterThan(240);
    expect(light(figureSvg(harmonicsFigure(), { look: 'dark' }))).toBeLessThan(48);
  });

  it('names what was kept', () => {
    const text = figureSvg(harmonicsFigure(), { kept: [{ label: 'first', figure: harmonicsFigure(8) }] });
    expect(text).toContain('Thin: first: Harmonics against level');
  });
});
