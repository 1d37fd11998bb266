import { describe, expect, it } from 'vitest';
import { openingSetting, settingSha256, type Setting } from '../../dsp/setting/index.ts';
import { defaultValues, stages } from '../../dsp/stages/index.ts';
import { escapeMarkup, markup } from '../../ui/documents/markup.ts';
import type { ReportContent } from '../../ui/documents/report/content.ts';
import { reportBody } from '../../ui/documents/report/body.ts';
import { reportPage } from '../../ui/documents/report/page.ts';

const opening = openingSetting();
const everyStage: Setting = {
  ...opening, rules: null, joints: null,
  path: { ...opening.path, stages: stages.map((definition, index) => ({ key: `s${index + 1}`, stage: definition.id, inCircuit: index !== 1, reversed: false, joined: false, values: defaultValues(definition) })) },
};
const contentOf = (setting: Setting, change: Partial<ReportContent> = {}): ReportContent => ({
  date: null, setting, baseRateHz: 48_000, programme: null, stages: setting.path.stages.map(() => null), sections: [], harmonics: null, harmonicsRefused: null, figures: [], blind: [], log: [], exposure: [], ...change,
});

describe('the sheets of a report', () => {
  const body = reportBody(contentOf(everyStage)).text;

  it('have every stage with its drawing and every value that does anything', () => {
    for (const [index, { title, drawing, drawingFor, parameters, relevant, ...definition }] of stages.entries()) {
      const sheet = body.split('<section class="stage">')[index + 1]!;
      expect(sheet, title).toContain(`<h2>${index + 1} ${escapeMarkup(title)}`);
      const values = defaultValues(stages[index]!);
      expect(/<svg class="circuit"/.test(sheet), title).toBe((drawingFor?.(values) ?? drawing) !== null);
      const rows = relevant === undefined ? parameters.length : relevant(values).length;
      expect(sheet.match(/<tr[ >]/g)!.length, title).toBe(rows + 1);
      expect(definition.id).toBe(everyStage.path.stages[index]!.stage);
    }
    expect(body).toContain(', out of circuit</h2>');
  });

  it('mark what is off its default and say the default', () => {
    const [first] = opening.path.stages;
    const changed: Setting = { ...opening, path: { ...opening.path, stages: [{ ...first!, values: { ...first!.values, collectorOhms: 3300 } }] }, rules: null, joints: null };
    expect(reportBody(contentOf(changed)).text).toMatch(/<tr class="changed"><th scope="row">RC, collector load<\/th><td class="figure">3\.3 kΩ<\/td><td>changed; default 2\.2 kΩ/);
  });

  it('caution in full where there are valves and line outputs, and say what a report is not', () => {
    expect(body).toMatch(/can kill and stay on capacitors after switch-off\. This bench models them; it gives no building instructions/);
    expect(body).toMatch(/start low, with monitors down/);
    expect(body).toMatch(/no building instruction, no statement of safety or of conformity/);
  });

  it('carry notes with verdicts, blind results, exposure and what was done, and the checksum', () => {
    const noted: Setting = { ...opening, notes: [{ date: '2026-11-26', text: 'the reed rasps', verdict: 'not yet' }] };
    const told = reportBody(contentOf(noted, {
      blind: [{ date: '2026-11-26', compared: 'whole path', settingSha256: 'abc', words: ['9 hits in 10 trials.'] }], exposure: ['An estimate.'], log: [{ at: '2026-11-26 20:15:07', words: 'RC 3.3 kilohm' }],
    })).text;
    expect(told).toContain('2026-11-26: not yet</h3><p>the reed rasps</p>');
    for (const words of ['9 hits in 10 trials.', 'An estimate.', 'RC 3.3 kilohm', settingSha256(noted)]) expect(told).toContain(words);
  });

  it('let nothing that was typed become markup', () => {
    const hostile = '<script>alert(1)</script>"\'&';
    const page = reportPage(contentOf({ ...opening, title: hostile, notes: [{ date: '2026-11-26', text: hostile }] }, { log: [{ at: hostile, words: hostile }], exposure: [hostile] }));
    expect(page).not.toMatch(/<script/);
    expect(page).toContain(escapeMarkup(hostile));
    expect(markup`<a title="${hostile}">${[hostile, markup`<b>1</b>`, null]}</a>`.text).toBe('<a title="&lt;script&gt;alert(1)&lt;/script&gt;&quot;&#39;&amp;">&lt;script&gt;alert(1)&lt;/script&gt;&quot;&#39;&amp;<b>1</b></a>');
  });
});
