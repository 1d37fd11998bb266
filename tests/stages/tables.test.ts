/** What every parameter table promises to editors, files and screen readers. */
import { describe, expect, it } from 'vitest';
import { cautions, defaultValues, formatValue, resolveValues, stageById, stages } from '../../dsp/stages/index.ts';
import type { NumberParameter, Quantity } from '../../dsp/stages/index.ts';

const units: Readonly<Record<Quantity, readonly string[]>> = {
  resistance: ['Ω'], capacitance: ['F'], inductance: ['H'], current: ['A'], frequency: ['Hz'], time: ['s'], level: ['dBu'], gain: ['dB'],
  'harmonic-amount': ['dB'], voltage: ['V'], ratio: [''], quality: [''], temperature: ['°C'],
  length: ['m'], 'resistance-per-length': ['Ω/m'], 'capacitance-per-length': ['F/m'],
};
/** How the identifier of a quantity ends: the unit is in the name. */
const endings: Partial<Record<Quantity, RegExp>> = {
  resistance: /Ohms$/, capacitance: /Farads$/, current: /Amperes$/, frequency: /Hz$/, level: /Dbu$/, gain: /Db$/, 'harmonic-amount': /Db$/, voltage: /Volts$/,
  inductance: /Henries$/, length: /Metres$/, 'resistance-per-length': /OhmsPerMetre$/, 'capacitance-per-length': /FaradsPerMetre$/,
};

const numbersOf = (stage: (typeof stages)[number]): NumberParameter[] =>
  stage.parameters.filter((parameter): parameter is NumberParameter => parameter.kind === 'number');

describe.each(stages.map((stage) => ({ id: stage.id, stage })))('$id', ({ stage }) => {
  it('is named for files, sheets and narrow cells', () => {
    expect(stage.id).toMatch(/^[a-z]+(-[a-z]+)*$/);
    expect(stage.title.length).toBeGreaterThan(0);
    expect(stage.shortTitle.length).toBeLessThanOrEqual(12);
    for (const caution of stage.cautions) expect(cautions[caution].length).toBeGreaterThan(40);
  });

  it('has unique identifiers and designators', () => {
    const ids = stage.parameters.map((parameter) => parameter.id);
    const designators = stage.parameters.flatMap((parameter) => parameter.designator ?? []);
    expect(new Set(ids).size).toBe(ids.length);
    expect(new Set(designators).size).toBe(designators.length);
  });

  it('says each parameter in full, short and aloud', () => {
    for (const parameter of stage.parameters) {
      expect(parameter.shortLabel.length, parameter.id).toBeLessThanOrEqual(12);
      expect(parameter.shortLabel.length, parameter.id).toBeGreaterThan(0);
      expect(parameter.spokenLabel, parameter.id).toMatch(/^[A-Za-z0-9 ,/²^.-]+$/);
      expect(parameter.spokenLabel, parameter.id).toContain(parameter.label);
      expect(parameter.help, parameter.id).toMatch(/^[A-Z].{20,}\.$/);
      if (parameter.designator !== undefined) expect(parameter.spokenLabel.length, parameter.id).toBeGreaterThan(parameter.label.length);
    }
  });

  it('gives each number a unit, a range, a taper and a step that fit', () => {
    for (const parameter of numbersOf(stage)) {
      expect(units[parameter.quantity], parameter.id).toContain(parameter.unit);
      expect(parameter.id).toMatch(endings[parameter.quantity] ?? /./);
      expect(parameter.minimum < parameter.maximum, parameter.id).toBe(true);
      expect(parameter.default >= parameter.minimum && parameter.default <= parameter.maximum, parameter.id).toBe(true);
      expect(parameter.step > 0 && parameter.step < parameter.maximum - parameter.minimum, parameter.id).toBe(true);
      if (parameter.taper === 'logarithmic') expect(parameter.minimum, parameter.id).toBeGreaterThan(0);
      if (['level', 'gain', 'harmonic-amount'].includes(parameter.quantity)) expect(parameter.taper).toBe('decibel');
    }
  });

  it('offers a default among the options of each choice', () => {
    for (const parameter of stage.parameters) {
      if (parameter.kind === 'choice') expect(parameter.options.map((option) => option.id)).toContain(parameter.default);
    }
  });

  it('resolves nothing to its defaults, and its defaults to themselves', () => {
    expect(resolveValues(stage, {})).toEqual(defaultValues(stage));
    expect(resolveValues(stage, defaultValues(stage))).toEqual(defaultValues(stage));
    expect(Object.keys(resolveValues(stage, {}))).toEqual(stage.parameters.map((parameter) => parameter.id));
    expect(stage.refuse(defaultValues(stage))).toBeNull();
  });

  it('refuses what is outside a range, naming both sides', () => {
    for (const parameter of numbersOf(stage)) {
      const over = parameter.maximum + parameter.step;
      const expected = `${stage.id}.${parameter.id}: expected ${formatValue(parameter.minimum, parameter.unit)} … ${formatValue(parameter.maximum, parameter.unit)}, got `;
      for (const [value, got] of [[over, formatValue(over, parameter.unit)], [NaN, 'NaN'], [Infinity, 'Infinity'], ['x', '"x"'], [null, 'null']] as const) {
        expect(() => resolveValues(stage, { [parameter.id]: value })).toThrow(expected + got);
      }
    }
  });

  it('refuses unknown names and options', () => {
    expect(() => resolveValues(stage, { tubeColour: 1 })).toThrow(`${stage.id}: expected one of ${stage.parameters[0]!.id}`);
    for (const parameter of stage.parameters) {
      if (parameter.kind === 'choice') expect(() => resolveValues(stage, { [parameter.id]: 'sideways' })).toThrow(/expected "\w.*got "sideways"/);
    }
  });
});

describe('registry', () => {
  it('finds each stage by its identifier and names the known ones where it cannot', () => {
    for (const stage of stages) expect(stageById(stage.id)).toBe(stage);
    expect(new Set(stages.map((stage) => stage.id)).size).toBe(stages.length);
    expect(() => stageById('tape')).toThrow(/expected a stage: single-ended-bipolar, .*harmonic-shaping.*; got "tape"/);
  });

  it('puts the lethal-voltage caution beside the valve stage, and one on line output beside every circuit', () => {
    expect(stages.filter((stage) => stage.cautions.includes('lethal-voltage')).map((stage) => stage.id)).toEqual(['single-ended-valve']);
    for (const stage of stages) if (stage.drawing !== null) expect(stage.cautions).toContain('line-output');
    for (const needed of ['kill', 'trained', 'licensed', 'local electrical code', 'no building instructions']) expect(cautions['lethal-voltage']).toContain(needed);
    for (const needed of ['start low', 'monitors down', 'licensed', 'local electrical code']) expect(cautions['line-output']).toContain(needed);
  });
});

describe('formatValue', () => {
  it.each([[4700, 'Ω', '4.7 kΩ'], [100, 'Ω', '100 Ω'], [1e5, 'Ω', '100 kΩ'], [22e-6, 'F', '22 µF'], [1e-12, 'F', '1 pF'], [-3, 'dB', '-3 dB'], [0, 'V', '0 V'], [0.5, '', '0.5'], [999.96, 'Ω', '1 kΩ']])(
    'writes %d %s as %s', (value, unit, text) => {
      expect(formatValue(value, unit)).toBe(text);
    });
});

describe('push-pull', () => {
  it('refuses a bias that its drive limit or rail leaves no room for, naming both', () => {
    const stage = stageById('push-pull');
    expect(() => resolveValues(stage, { quiescentAmperes: 0.02, emitterOhms: 100, driveLimitVolts: 2 })).toThrow(
      /^push-pull: driveLimitVolts: expected at least 3\.2\d+ V, since each base rests at 2\.7\d+ V .* got 2 V$/);
    expect(() => resolveValues(stage, { quiescentAmperes: 0.05, emitterOhms: 100, railVolts: 5 })).toThrow(/railVolts: expected at least 6\.\d+ V/);
  });
});
