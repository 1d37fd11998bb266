/** Days as files and the command line write them: those of the Gregorian calendar alone (ISO 8601, complete, extended). */

const monthsAndDays = '(?:(?:0[13578]|1[02])-(?:0[1-9]|[12]\\d|3[01])|(?:0[469]|11)-(?:0[1-9]|[12]\\d|30)|02-(?:0[1-9]|1\\d|2[0-8]))';
const leapYear = '(?:\\d\\d(?:0[48]|[2468][048]|[13579][26])|(?:[02468][048]|[13579][26])00)';

/** As a regular expression, so that schema and reader have the same. */
export const datePattern = `^(?:\\d{4}-${monthsAndDays}|${leapYear}-02-29)$`;

const date = new RegExp(datePattern);

export function isDate(text: string): boolean {
  return date.test(text);
}
