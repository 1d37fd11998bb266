/** How wide a line of text comes out, without a browser to ask. */

/**
 * Advance widths of the characters from space to tilde, in hundredths of the size: of the two bundled faces as they are used on figures (Source Sans 3, regular; STIX Two
 * Text, italic) the wider. Measured in Chromium; the page's own text is within 6 % below.
 */
const widths = [
  22, 29, 43, 57, 50, 82, 72, 25, 34, 34, 42, 72, 25, 31, 25, 39, 50, 50, 50, 50, 50, 50, 50, 50, 50, 50, 25, 25, 70, 72, 70, 42, 92, 68, 59, 66, 70, 61, 58, 70, 76, 34, 48, 65,
  57, 87, 71, 71, 57, 71, 62, 53, 61, 73, 64, 91, 64, 61, 61, 35, 41, 35, 50, 51, 54, 53, 55, 46, 55, 50, 29, 50, 55, 28, 27, 50, 27, 83, 56, 54, 55, 55, 38, 42, 34, 56, 47, 72,
  45, 47, 42, 31, 27, 31, 55,
];
/** Of any other character: a minus, a Greek letter. */
const otherWidth = 60;

/** Width of a line, px, rather too wide than too narrow. */
export function textWidthPx(text: string, sizePx: number): number {
  let hundredths = 0;
  for (const character of text) hundredths += character === '\u00a0' ? widths[0]! : widths[character.charCodeAt(0) - 32] ?? otherWidth;
  return (hundredths * sizePx) / 100;
}

/** Between a figure and its unit no line is broken: "1 kHz", "24 %". */
const beforeUnit = /(?<=\d) (?=(?:[pnµmkMG]?(?:Hz|Ω|F|H|A|V|s|W)|dB\w*|%|°C?|octaves?|degrees?)(?![\w]))/gu;

/** Lines no wider than the room, broken at spaces; a word wider than that stands by itself. */
export function wrapText(text: string, sizePx: number, roomPx: number): readonly string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.replace(beforeUnit, '\u00a0').split(/[ \n\t]+/)) {
    const longer = line === '' ? word : `${line} ${word}`;
    if (line !== '' && textWidthPx(longer, sizePx) > roomPx) {
      lines.push(line);
      line = word;
    } else line = longer;
  }
  return line === '' ? lines : [...lines, line];
}
