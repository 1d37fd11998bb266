import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { circuitDocumentSchema } from '../../dsp/circuit/index.ts';
import { settingSchema } from '../../dsp/setting/index.ts';

describe('the published JSON Schemas', () => {
  it.each([
    ['setting/setting.schema.json', settingSchema()],
    ['circuit/circuit.schema.json', circuitDocumentSchema()],
  ])('%s is what the tables say; else run tests/reference/gen-schemas.mjs', (file, schema) => {
    expect(JSON.parse(readFileSync(new URL(`../../dsp/${file}`, import.meta.url), 'utf8'))).toEqual(JSON.parse(JSON.stringify(schema)));
  });
});
