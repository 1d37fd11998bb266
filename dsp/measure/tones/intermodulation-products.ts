/** Where two tones put their products. */
export interface Product {
  readonly hz: number;
  /** How often the tones stand in it; of a square wave and a sine the lowest law that makes it. */
  readonly order: number;
  /** "2 f2 − f1" */
  readonly words: string;
  readonly kind: 'intermodulation' | 'harmonic';
}

/**
 * |a f1 + b f2| of every order |a| + |b| from 2 to `highestOrder`, harmonics of either tone among them, below `belowHz`; by order, then frequency. Where two coincide the lower order stands; what falls on a
 * tone or on 0 Hz is left out.
 */
export function productsOfTwoTones([f1, f2]: readonly [number, number], highestOrder: number, belowHz: number): Product[] {
  const found = new Map<string, Product>();
  const taken = new Set([keyOf(f1), keyOf(f2), keyOf(0)]);
  for (let order = 2; order <= highestOrder; order += 1) {
    for (let b = -order; b <= order; b += 1) {
      for (const a of new Set([order - Math.abs(b), Math.abs(b) - order])) {
        const signed = a * f1 + b * f2;
        // Each frequency once: of a pair (a, b) and (−a, −b) the one that comes out positive.
        if (!(signed > 0 && signed < belowHz)) continue;
        const key = keyOf(signed);
        if (taken.has(key) || found.has(key)) continue;
        found.set(key, { hz: signed, order, words: combination(a, b), kind: a === 0 || b === 0 ? 'harmonic' : 'intermodulation' });
      }
    }
  }
  return [...found.values()].sort((p, q) => p.order - q.order || p.hz - q.hz);
}

/**
 * The nine products of the dynamic method, |k f_square − f_sine|, k = 1 … 9 (IEC 60268-3, Table 2). A symmetrical square wave has odd harmonics, so that the odd ones come of a square law, the even ones (two harmonics
 * and the sine) of a cubic law at least.
 */
export function productsOfSquareAndSine([squareHz, sineHz]: readonly [number, number]): Product[] {
  return Array.from({ length: 9 }, (_, index) => {
    const k = index + 1;
    const square = `${k === 1 ? '' : `${k} × `}${kilohertz(squareHz)}`;
    const below = k * squareHz < sineHz;
    return {
      hz: Math.abs(k * squareHz - sineHz), order: k % 2 === 1 ? 2 : 3, kind: 'intermodulation' as const,
      words: below ? `${kilohertz(sineHz)} − ${square}` : `${square} − ${kilohertz(sineHz)}`,
    };
  });
}

/** "7 kHz", "11.95 kHz", "60 Hz": to a tenth of a hertz below 1 kHz, to five digits above. */
export function kilohertz(hz: number): string {
  return hz < 999.95 ? `${Number(hz.toFixed(1))} Hz` : `${Number((hz / 1000).toPrecision(5))} kHz`;
}

/** To a millihertz. */
function keyOf(hz: number): string {
  return hz.toFixed(3);
}

function combination(a: number, b: number): string {
  const terms = [[a, 'f1'], [b, 'f2']] as const;
  const present = terms.filter(([count]) => count !== 0).sort(([p], [q]) => q - p);
  return present.map(([count, name], place) => {
    const size = Math.abs(count) === 1 ? name : `${Math.abs(count)} ${name}`;
    return place === 0 ? size : `${count < 0 ? '−' : '+'} ${size}`;
  }).join(' ');
}
