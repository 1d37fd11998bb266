/** Figures made up for tests of plots: shapes of real ones, numbers of our own. */
import type { Figure, FigureAxis, FigurePanel, FigureTrace } from '../../dsp/measure/figures/index.ts';

export const levelAxis: FigureAxis = { label: 'input level', unit: 'dBu', scale: 'linear', written: 'plain', from: -60, to: 30 };
export const harmonicAxis: FigureAxis = { label: 'harmonics', unit: 'dB re fundamental', scale: 'linear', written: 'plain', from: -160, to: 0 };
export const frequencyAxis: FigureAxis = { label: 'frequency', unit: 'Hz', scale: 'logarithmic', written: 'prefixed', from: 20, to: 20_000 };

export const range = (count: number, from: number, to: number): number[] => Array.from({ length: count }, (_, k) => from + ((to - from) * k) / (count - 1));
export const hertz = (count: number): number[] => Array.from({ length: count }, (_, k) => 20 * 1000 ** (k / (count - 1)));

export function panelOf(traces: readonly FigureTrace[], change: Partial<FigurePanel> = {}): FigurePanel {
  return { title: '', x: levelAxis, left: harmonicAxis, traces, marks: [], ...change };
}

export function traceOf(id: string, x: ArrayLike<number>, y: ArrayLike<number>, change: Partial<FigureTrace> = {}): FigureTrace {
  return { id, label: id, axis: 'left', role: 'main', drawn: 'line', x, y, ...change };
}

export function figureOf(panels: readonly FigurePanel[], change: Partial<Figure> = {}): Figure {
  return { title: 'A figure', caption: 'It has one line.', panels, tables: [], remarks: [], ...change };
}

/** Harmonics of a stage that clips at +21 dBu: the nth falls by n − 1 dB a dB until there. */
export function harmonicsFigure(offsetDb = 0): Figure {
  const levels = range(61, -60, 30);
  const traces = [2, 3, 4, 5, 6, 7, 8, 9, 10].map((order) => {
    const y = levels.map((level) => {
      const law = -(order % 2 ? 74 : 62) - 9 * (order - 2) + offsetDb + (order - 1) * (level - 4) * 0.9;
      const clipped = -10 - 4 * order + 4 * Math.sin(level * 0.7 + order);
      const unclipped = Math.min(law, -24 - 6 * order);
      const share = 1 / (1 + Math.exp(-(level - 21)));
      const db = unclipped + share * (clipped - unclipped);
      return db < -160 ? NaN : db;
    });
    return traceOf(`H${order}`, levels, y, { order });
  });
  return figureOf([panelOf(traces, { marks: [{ x: 21, words: 'clips at +21.0 dBu' }, { y: -100, words: 'noise of the path' }] })], {
    title: 'Harmonics against level, whole path, 1 kHz',
    caption: 'At +4 dBu H2 is −62.0 dB and H3 −83.0 dB; of the harsh orders H5 is the strongest, −101.0 dB. The path clips at +21.0 dBu.',
    tables: [{
      columns: [{ label: 'level', unit: 'dBu', written: 'plain', digits: 1 }, ...traces.map(({ label }) => ({ label, unit: 'dB', written: 'plain' as const, digits: 1 }))],
      rows: levels.flatMap((level, row) => (row % 4 === 0 ? [{ cells: [level, ...traces.map(({ y }) => (Number.isNaN(y[row]!) ? null : y[row]!))] }] : [])),
    }],
    remarks: ['Orders under −160 dB are below the numerical floor and not drawn.'],
  });
}

/** Magnitude, phase and group delay of a second-order high-pass at 40 Hz and a pole at 60 kHz. */
export function responseFigure(): Figure {
  const f = hertz(241);
  const gain = f.map((hz) => 24 - 10 * Math.log10(1 + (40 / hz) ** 2) - 10 * Math.log10(1 + (hz / 60_000) ** 2) + 5 / (1 + ((hz - 9000) / 1500) ** 2));
  const phase = f.map((hz) => (180 / Math.PI) * (Math.atan(40 / hz) - Math.atan(hz / 60_000)));
  return figureOf([
    panelOf([traceOf('magnitude', f, gain), traceOf('ideal', f, f.map(() => 24), { role: 'ideal' })], {
      title: 'Magnitude', x: frequencyAxis, left: { label: 'gain', unit: 'dB', scale: 'linear', written: 'plain', from: 12, to: 30 }, marks: [{ x: 9000, y: 28.9, words: 'most, +28.9 dB at 9.00 kHz' }, { x: 40, words: '−3 dB at 40.0 Hz' }],
    }),
    panelOf([traceOf('phase', f, phase), traceOf('group delay', f, f.map((hz) => 4e-3 * (40 / hz) / (1 + (hz / 40) ** 2) + 1e-6), { axis: 'right', role: 'second' })], {
      title: 'Phase and group delay', x: frequencyAxis, left: { label: 'phase', unit: 'degrees', scale: 'linear', written: 'plain', from: -90, to: 90 },
      right: { label: 'group delay', unit: 's', scale: 'linear', written: 'prefixed', from: 0, to: 0.004 },
    }),
  ], { title: 'Response, stage 1 alone', caption: 'Gain 24.0 dB at 1 kHz, −3 dB at 40.0 Hz; most at 9.00 kHz, +28.9 dB.' });
}

/** Output and residual of a clipped sine: a long trace and small values. */
export function waveformFigure(): Figure {
  const t = range(4096, 0, 2e-3);
  const output = t.map((s) => 9 * Math.tanh(1.6 * Math.sin(2 * Math.PI * 1000 * s)));
  const residual = t.map((s, k) => (output[k]! - 8.9 * Math.sin(2 * Math.PI * 1000 * s)) / 10);
  const time: FigureAxis = { label: 'time', unit: 's', scale: 'linear', written: 'prefixed', from: 0, to: 2e-3 };
  const v = range(101, -10, 10);
  return figureOf([
    panelOf([traceOf('output', t, output)], { title: 'Output', x: time, left: { label: 'output', unit: 'V', scale: 'linear', written: 'prefixed', from: -10, to: 10 }, selects: 'region' }),
    panelOf([traceOf('residual', t, residual)], { title: 'Residual, fundamental removed, 20 times larger', x: time, left: { label: 'residual', unit: 'V', scale: 'linear', written: 'prefixed', from: -0.2, to: 0.2 } }),
    panelOf([traceOf('curve', v, v.map((x) => 9 * Math.tanh(x / 6))), traceOf('ideal', v, v.map((x) => 1.5 * x), { role: 'ideal' })], {
      title: 'Where it is on the curve', x: { label: 'input', unit: 'V', scale: 'linear', written: 'prefixed', from: -10, to: 10 }, left: { label: 'output', unit: 'V', scale: 'linear', written: 'prefixed', from: -10, to: 10 },
      marks: [{ x: -5, toX: 5, words: 'swing of this tone' }],
    }),
  ], { title: 'Waveform and residual, 1 kHz at +18 dBu', caption: 'The residual is 24 % of the output.' });
}

/** A spectrum with lines and a floor. */
export function spectrumFigure(): Figure {
  const f = hertz(800);
  return figureOf([panelOf([
    traceOf('tones', [60, 7000, 6940, 7060, 6880, 7120, 120, 180, 14_000], [-12, -24, -70, -72, -95, -97, -80, -88, -84], { drawn: 'uprights' }),
    traceOf('floor', f, f.map((hz, k) => -118 + 6 * Math.sin(k * 12.9898) + 4 * Math.sin(k * 78.233) - 3 * Math.log10(hz)), { role: 'noise' }),
    traceOf('peaks', hertz(12), hertz(12).map((_, k) => -60 - 3 * k), { role: 'second', drawn: 'points' }),
    traceOf('thirds', hertz(31), hertz(31).map((_, k) => -95 + 8 * Math.sin(k / 3)), { role: 'third', drawn: 'stair' }),
  ], { x: frequencyAxis, left: { label: 'level', unit: 'dB re full-scale sine', scale: 'linear', written: 'plain', from: -140, to: 0 } })], { title: 'Spectrum of what plays' });
}

export const fixtures = { harmonics: harmonicsFigure(), response: responseFigure(), waveform: waveformFigure(), spectrum: spectrumFigure() } as const;
