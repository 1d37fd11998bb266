/** Shelves stand between the path and the stage, one at a time: each a list of things to take or to do. Their elements come late (`surfaces.ts`). */
import { html, type TemplateResult } from 'lit';
import type { RegionProperties, ShelfName } from './state.ts';

export interface Shelf {
  readonly name: ShelfName;
  /** Of its button in the title line. */
  readonly label: string;
  readonly hint: string;
  /** The element gets `state`, `shape` and `low` and has `focusHeading()`. */
  render(region: RegionProperties): TemplateResult;
}

export const shelves: readonly Shelf[] = [
  {
    name: 'paths', label: 'Paths', hint: 'Paths to begin from, each with what to listen for',
    render: ({ state, shape, low }) => html`<ready-path-list .state=${state} .shape=${shape} .low=${low}></ready-path-list>`,
  },
  {
    name: 'drafts', label: 'Drafts', hint: 'Four whole settings laid down; any two compared as a pair',
    render: ({ state, shape, low }) => html`<draft-row .state=${state} .shape=${shape} .low=${low}></draft-row>`,
  },
  {
    name: 'listening', label: 'Listening', hint: 'What the match leaves, long listening, live input, hearing',
    render: ({ state, shape, low }) => html`<listening-shelf .state=${state} .shape=${shape} .low=${low}></listening-shelf>`,
  },
  {
    name: 'hand-on', label: 'Hand on', hint: 'Render, report, ticket, demonstration: what leaves the bench as a file',
    render: ({ state, shape, low }) => html`<hand-on-shelf .state=${state} .shape=${shape} .low=${low}></hand-on-shelf>`,
  },
  {
    name: 'keys', label: 'Keys', hint: 'The list of keys; change them or switch them off',
    render: ({ state, shape, low }) => html`<key-card .state=${state} .shape=${shape} .low=${low}></key-card>`,
  },
];

/** What both have: the focus can be put on their heading. */
export interface HeadedElement extends HTMLElement {
  focusHeading(): void;
  /** A whole page may keep a key for itself; true: it was meant for it. */
  takeKey?(event: KeyboardEvent): boolean;
}
