/** A report as a page of its own: one file without a script. Pure: the same content gives the same bytes. */
import { paletteCss } from '../../plot/index.ts';
import { markup, trusted } from '../markup.ts';
import { paperCss } from '../paper-style.ts';
import { reportBody } from './body.ts';
import type { ReportContent } from './content.ts';
import { reportCss } from './style.ts';

/** Pictures of figures bring their own fonts in attributes, hence the policy for styles. */
const policy = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";

export function reportPage(content: ReportContent): string {
  return markup`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<meta name="generator" content="Stagebench">
<title>${content.setting.title}: report</title>
<style>${trusted(`${paletteCss()}\n${paperCss}${reportCss}`)}</style>
</head>
<body><main>
${reportBody(content)}
</main></body>
</html>
`.text;
}
