import { describe, expect, it } from 'vitest';
import { writeDb, writePercent } from '../../ui/documents/harmonic-words.ts';
import { barShare, ledgerLine, writePhase } from '../../ui/page/elements/harmonic-words.ts';

const figure = (order: number, db: number, phaseDegrees = 0, sign = 1) => ({ order, db, signedRatio: sign * 10 ** (db / 20), phaseDegrees });

describe('the words of the ledger', () => {
  it.each([[-62.14, '−62.1'], [0, '0.0'], [-0.02, '0.0'], [3.2, '3.2'], [-160, '−160.0'], [-160.1, 'under −160'], [-Infinity, 'under −160'], [NaN, 'under −160']])(
    '%d dB: %s', (db, text) => expect(writeDb(db)).toBe(text));

  it.each([[0.0788, '0.079'], [1, '1.0'], [12.34, '12'], [100, '100'], [0.00398, '0.0040'], [0.0000199, '0.000020'], [1e-7, '–'], [0, '–'], [NaN, '–']])(
    '%d percent: %s', (percent, text) => expect(writePercent(percent)).toBe(text));

  it('writes sign and degrees apart, and neither under the floor', () => {
    expect(writePhase(figure(2, -60, -99.6, 1))).toBe('+, −100°');
    expect(writePhase(figure(3, -60, 12.4, -1))).toBe('−, 12°');
    expect(writePhase(figure(3, -60, -0.2, -1))).toBe('−, 0°');
    expect(writePhase(figure(3, -170))).toBe('–');
  });

  it.each([[-140, 0], [-141, 0], [-Infinity, 0], [NaN, 0], [-70, 0.5], [0, 1], [6, 1]])('a bar of %d dB has %d of its length', (db, share) => expect(barShare(db)).toBe(share));

  it('tells the worst harsh order in the one line, never 4 or 6', () => {
    expect(ledgerLine([figure(2, -62), figure(3, -78), figure(4, -50), figure(5, -96), figure(6, -40), figure(7, -90)])).toBe('H2 −62, H3 −78, worst harsh H7 −90');
    expect(ledgerLine([figure(2, -62), figure(3, -Infinity), figure(5, -Infinity)])).toBe('H2 −62, H3 under −160, no harsh order above −160');
  });
});
