/** What takes the whole page: nothing else is drawn meanwhile. Their elements come late (`surfaces.ts`), get `state`, `shape` and `low`, and are a `HeadedElement`. */
import { html, type TemplateResult } from 'lit';
import type { RegionProperties, WholePageName } from './state.ts';

export const wholePages: Readonly<Record<WholePageName, (region: RegionProperties) => TemplateResult>> = {
  report: ({ state, shape, low }) => html`<report-sheet class="whole" .state=${state} .shape=${shape} .low=${low}></report-sheet>`,
  sitting: ({ state, shape, low }) => html`<sitting-sheet class="whole" .state=${state} .shape=${shape} .low=${low}></sitting-sheet>`,
  'session-log': ({ state, shape, low }) => html`<session-log-sheet class="whole" .state=${state} .shape=${shape} .low=${low}></session-log-sheet>`,
};
