import { describe, expect, it } from 'vitest';
import { defaultValues, stageById } from '../../../../dsp/stages/index.ts';
import { surroundings } from '../../../../dsp/path/index.ts';
import { capacitor, input, parsedOf, resistor } from '../../../support/circuits.ts';
import { cellOf, columnOf, figureOf, ofDocument, ofStages } from '../support.ts';

const near = (actual: number, expected: number, limit: number, what: string): void => expect(Math.abs(actual - expected) <= limit, `${what}: expected ${expected} ± ${limit}, got ${actual}`).toBe(true);

describe('impedances', () => {
  const figure = figureOf('impedance', ofDocument(parsedOf([input('in'), resistor('R', 'in', 'out', 1000), capacitor('C', 'out', 'ground', 10e-9)], ['out', 'ground'])));

  it('of an RC are R + 1/jωC at its input and R beside C at its output', () => {
    const hertz = columnOf(figure, 1, 'frequency');
    const [inputs, phases, outputs] = [columnOf(figure, 1, 'input, magnitude'), columnOf(figure, 1, 'input, phase'), columnOf(figure, 2, 'output, magnitude')];
    hertz.forEach((hz, k) => {
      const x = 2 * Math.PI * hz * 10e-9;
      near(inputs[k]! / Math.hypot(1000, 1 / x), 1, 1e-9, `input at ${hz}`);
      near(phases[k]!, (180 / Math.PI) * Math.atan2(-1 / x, 1000), 1e-6, `phase at ${hz}`);
      near(outputs[k]! / (1 / Math.hypot(1e-3, x)), 1, 1e-9, `output at ${hz}`);
    });
    near(cellOf(figure, 0, 'input', 'resistance at 1 kHz'), 1000, 1e-6, 'resistance');
    expect(figure.caption).toMatch(/^Input 15.95 kΩ at 1 kHz \(resistance 1 kΩ\), output 998/);
  });

  it('of a stage in a path is its own: what stands before it shows at its output alone', () => {
    const alone = figureOf('impedance', ofStages(['push-pull']));
    const second = figureOf('impedance', ofStages(['single-ended-bipolar', 'push-pull'], 's2'));
    near(cellOf(second, 0, 'input', 'magnitude at 1 kHz') / cellOf(alone, 0, 'input', 'magnitude at 1 kHz'), 1, 1e-9, 'input');
  });

  it('says what source and load of the surroundings lose, and refuses what is no circuit', () => {
    const figure_ = figureOf('impedance', ofStages(['push-pull'], undefined, { surroundings: { ...defaultValues(surroundings), sourceOhms: 600, loadOhms: 600 } }));
    const ohms = cellOf(figure_, 0, 'output', 'resistance at 1 kHz');
    const reactance = cellOf(figure_, 0, 'output', 'reactance at 1 kHz');
    const loss = 20 * Math.log10(Math.hypot(ohms + 600, reactance) / 600);
    expect(figure_.remarks.join(' ')).toContain(`A load of 600 Ω takes ${loss.toFixed(2)} dB at 1 kHz`);
    expect(() => figureOf('impedance', ofStages(['harmonic-shaping']))).toThrow('Nothing here is a circuit');
  });
});

describe('loop gain', () => {
  const one = (stage: string, values: Readonly<Record<string, number | string>> = {}) => figureOf('loop-gain', ofStages([{ stage, values }]));
  const margin = (figure: ReturnType<typeof one>): number => columnOf(figure, 0, 'phase margin')[0]!;

  it('of the op-amp stages has on its slope the gain-bandwidth of the reference designs over the noise gain of 2', () => {
    // 10.1 and 3.08 MHz; at 100 kHz the second poles take nothing yet: 3 %, a quarter of a decibel.
    const unloaded = { loadOhms: 1e6, feedbackOhms: 22e3, gainOhms: 22e3, quiescentAmperes: 1e-3 };
    for (const [id, transitionHz, values] of [['op-amp-discrete', 10.1e6, {}], ['op-amp-integrated', 3.08e6, unloaded]] as const) {
      const figure = figureOf('loop-gain', ofStages([{ stage: id, values }]), { fromHz: 100_000, toHz: 1e8, perOctave: 2 });
      near((10 ** (columnOf(figure, 1, 'loop gain')[0]! / 20) * 100_000 * 2) / transitionHz, 1, 0.03, id);
    }
  });

  it('falls by 20 dB from 1 kHz to 10 kHz on the slope of an integrator, its crossing where its curve is 0 dB', () => {
    const figure = one('op-amp-integrated');
    near(columnOf(figure, 0, 'at 10 kHz')[0]! - columnOf(figure, 0, 'at 20 kHz')[0]!, 20 * Math.log10(2), 0.1, 'slope');
    const [hertz, db] = [columnOf(figure, 1, 'frequency'), columnOf(figure, 1, 'loop gain')];
    const after = db.findIndex((each) => each < 0);
    const crossing = columnOf(figure, 0, 'crosses 1 at')[0]!;
    expect(hertz[after - 1]! <= crossing && crossing <= hertz[after]!).toBe(true);
  });

  it('has the margins that the stages report, for every stage that declares a loop', () => {
    for (const id of ['line-amplifier', 'summing-bus', 'equaliser-bell', 'equaliser-shelf', 'equaliser-inductor', 'microphone-input']) {
      const degrees = margin(one(id));
      expect(degrees > 20 && degrees < 130, `${id}: ${degrees}`).toBe(true);
    }
    const bus = stageById('summing-bus');
    const subject = ofStages(['summing-bus']);
    const said = bus.report(defaultValues(bus), subject.plan.stages[0]!.wired.program).readings.find(({ label }) => label === 'phase margin')!;
    near(margin(one('summing-bus')), said.value, 1e-6, 'bus');
  });

  it('is found in a joined circuit, and refused where there is none', () => {
    const joined = figureOf('loop-gain', ofStages(['single-ended-bipolar', { stage: 'summing-bus', joined: true }]));
    // The bus is driven through its mix resistor: 600 ohm more or less before it hardly change what feeds back.
    near(margin(joined), margin(one('summing-bus')), 2, 'joined');
    expect(() => one('push-pull')).toThrow('No stage in circuit has a loop of feedback');
    expect(() => figureOf('loop-gain', ofStages(['push-pull', 'summing-bus'], 's1'))).toThrow('Stage 1 Push-pull stage has no loop');
  });
});
