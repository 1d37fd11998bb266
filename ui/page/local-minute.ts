/** Date and time where the listener is, to the minute: "2026-11-26T20:15". */
export function localMinute(now = new Date()): string {
  return `${localDay(now)}T${two(now.getHours())}:${two(now.getMinutes())}`;
}

/** The day there: "2026-11-26". */
export function localDay(now = new Date()): string {
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

const two = (number: number): string => String(number).padStart(2, '0');
