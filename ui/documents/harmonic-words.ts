/** How a harmonic's level is written, on the page and on paper. Pure. */

/** Under this the numbers are the computer's, not the circuit's. */
export const numericalFloorDb = -160;

/** "−62.1"; "under −160". */
export function writeDb(db: number, digits = 1): string {
  if (!(db >= numericalFloorDb)) return `under −${-numericalFloorDb}`;
  const rounded = Math.abs(db).toFixed(digits);
  return (db < 0 && Number(rounded) !== 0 ? '−' : '') + rounded;
}

/** "0.078": percent of the fundamental with two digits; a dash under the floor. */
export function writePercent(percent: number): string {
  if (!(percent > 100 * 10 ** (numericalFloorDb / 20))) return '–';
  const decimals = Math.max(0, 1 - Math.floor(Math.log10(percent)));
  return percent.toFixed(Math.min(10, decimals));
}
