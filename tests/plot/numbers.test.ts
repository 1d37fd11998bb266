import { describe, expect, it } from 'vitest';
import { speakReading, writeFigure, writeReading } from '../../ui/plot/index.ts';
import { wrapText } from '../../ui/plot/text-width.ts';

const plain = (unit: string) => ({ unit, written: 'plain' as const });
const prefixed = (unit: string) => ({ unit, written: 'prefixed' as const });

describe('a number of a figure', () => {
  it.each([
    [-62.149, plain('dB'), 1, '−62.1'], [0.04, plain('dB'), 1, '0.0'], [-0.04, plain('dB'), 1, '0.0'], [12, plain(''), 0, '12'], [NaN, plain('dB'), 1, 'unknown'], [-Infinity, plain('dB'), 1, 'none'],
    [2500, prefixed('Hz'), 3, '2.50 kHz'], [999.96, prefixed('Hz'), 4, '1.000 kHz'], [999.94, prefixed('Hz'), 4, '999.9 Hz'], [-0.0131, prefixed('V'), 3, '−13.1 mV'], [0, prefixed('V'), 3, '0.00 V'],
    [4.7e-6, prefixed('s'), 2, '4.7 µs'], [1e-18, prefixed('V'), 3, '1.00e-18 V'], [3, prefixed('V'), 1, '3 V'], [1, prefixed(''), 3, '1.00'],
  ])('%d, %j with %d digits reads %s', (value, of, digits, text) => {
    expect(writeFigure(value, { ...of, digits })).toBe(text);
  });

  it.each([
    [4, plain('dBu'), '+4.0 dBu', 'plus 4.0 dBu'], [-72.1, plain('dB re fundamental'), '−72.1 dB', 'minus 72.1 decibels'], [1262, prefixed('Hz'), '1.26 kHz', '1.26 kilohertz'],
    [-45, plain('degrees'), '−45.0°', 'minus 45.0 degrees'], [4700, prefixed('Ω'), '4.70 kΩ', '4.70 kilohms'], [0.0131, prefixed('V'), '13.1 mV', '13.1 millivolts'], [1.5, plain(''), '1.5', '1.5'],
    [0.25, plain('V/µs'), '0.25 V/µs', '0.25 V/µs'],
  ])('%d of %j is read %s and spoken "%s"', (value, of, written, spoken) => {
    expect([writeReading(value, of), speakReading(value, of)]).toEqual([written, spoken]);
  });
});

describe('wrapped text', () => {
  it('keeps within the room and a figure with its unit', () => {
    const lines = wrapText('Harmonics against level, whole path, 1 kHz at +4 dBu, 24 % of it', 14, 150);
    expect(lines.length).toBeGreaterThan(2);
    expect(lines.join(' ').replaceAll('\u00a0', ' ')).toBe('Harmonics against level, whole path, 1 kHz at +4 dBu, 24 % of it');
    for (const line of lines) expect(line).not.toMatch(/\d$|^(kHz|dBu|%)/);
  });
});
