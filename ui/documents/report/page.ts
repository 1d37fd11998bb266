/** A report as a page of its own: one file without a script. Pure: the same content gives the same bytes. */
import { paletteCss } from '../../plot/index.ts';
import { documentPage } from '../document-page.ts';
import { markup } from '../markup.ts';
import { paperCss } from '../paper-style.ts';
import { reportBody } from './body.ts';
import type { ReportContent } from './content.ts';
import { reportCss } from './style.ts';

/** Pictures of figures bring their own fonts in attributes, hence the policy for styles. */
const policy = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";

export function reportPage(content: ReportContent): string {
  return documentPage({
    title: `${content.setting.title}: report`, policy, css: `${paletteCss()}\n${paperCss}${reportCss}`,
    body: markup`<main>
${reportBody(content)}
</main>`,
  });
}
