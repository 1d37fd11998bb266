/** What every document that is a file of its own begins and ends with. Pure. */
import { markup, trusted, type Markup } from './markup.ts';

export interface DocumentPage {
  readonly title: string;
  /** Content security policy: what the page allows itself. */
  readonly policy: string;
  readonly css: string;
  readonly body: Markup;
}

/** The text of a page that reaches for nothing outside itself. */
export function documentPage({ title, policy, css, body }: DocumentPage): string {
  return markup`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<meta name="generator" content="Stagebench">
<title>${title}</title>
<style>${trusted(css)}</style>
</head>
<body>
${body}
</body>
</html>
`.text;
}
