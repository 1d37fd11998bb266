import { describe, expect, it } from 'vitest';
import { harshSentence, judgeOrder, orders } from '../../dsp/measure/index.ts';

describe('the table of orders', () => {
  it('judges 2 and 3 pleasing, leaves 4 and 6 unjudged, and calls 5, 7 and every higher order harsh', () => {
    expect(orders.map(({ order, judgement }) => `${order} ${judgement}`)).toEqual([
      '2 pleasing', '3 pleasing', '4 unjudged', '5 harsh', '6 unjudged', '7 harsh', '8 harsh', '9 harsh', '10 harsh',
    ]);
    expect([11, 12, 64].map((order) => judgeOrder(order).judgement)).toEqual(['harsh', 'harsh', 'harsh']);
  });

  it('tells the judgements apart by fill, and names the harsh ones', () => {
    expect(orders.map(({ fill }) => fill)).toEqual(['solid', 'solid', 'outline', 'hatched', 'outline', 'hatched', 'hatched', 'hatched', 'hatched']);
    for (const { judgement, word } of orders) expect(word).toBe(judgement === 'harsh' ? 'harsh' : '');
    expect(harshSentence).toBe('hatched: commonly judged harsh (common practice, no source)');
  });

  it.each([1, 0, -2, 2.5, NaN])('refuses %d', (order) => expect(() => judgeOrder(order)).toThrow(`expected a whole number from 2, got ${order}`));
});
