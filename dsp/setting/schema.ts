/** The JSON Schema (2020-12) of setting files, made from the stages' own tables, so that the two cannot disagree. */
import { oversamplingFactors, supply, surroundings } from '../path/index.ts';
import { stages } from '../stages/index.ts';
import type { Parameter, SheetDefinition, StageDefinition } from '../stages/index.ts';
import { greatestJointDifferenceDb, greatestRuleErrorDb, integrationRules, maximumStages, optionalFields } from './parse.ts';
import { datePattern } from './dates.ts';
import { highestOrder, lowestMeasuredDb, lowestTrimDb, mostOrders, verdicts } from './heard.ts';
import { settingFormat, settingVersion } from './write.ts';

/** What the setting inside a note is: the same, and without notes of its own. */
const bareSetting = { $ref: '#', type: 'object', properties: { notes: { type: 'array', maxItems: 0 } } };

const gainDb = { type: 'number', minimum: -200, maximum: 0 };

const sha256 = { type: 'string', pattern: '^[0-9a-f]{64}$' };
const seconds = { type: 'number', minimum: 0, maximum: 86_400 };
const db = { type: 'number', minimum: lowestMeasuredDb, maximum: 100 };

const noteSchema = closedObject({
  date: { type: 'string', pattern: datePattern },
  text: { type: 'string', maxLength: 10_000 },
  verdict: { enum: [...verdicts] },
  pin: closedObject({
    programme: orNull(closedObject({ title: { type: 'string', maxLength: 300 }, identifier: { type: 'string', maxLength: 300 }, sha256: orNull(sha256), rateHz: { type: 'number', minimum: 1, maximum: 1_000_000 }, trimDb: { type: 'number', minimum: lowestTrimDb, maximum: 0 } })),
    region: orNull(closedObject({ startSeconds: seconds, endSeconds: seconds })),
    measurement: orNull(closedObject({
      frequencyHz: { type: 'number', minimum: 1, maximum: 100_000 },
      levelDbu: { type: 'number', minimum: -120, maximum: 60 },
      fundamentalDbu: db,
      orders: { type: 'array', maxItems: mostOrders, items: closedObject({ order: { type: 'integer', minimum: 2, maximum: highestOrder }, db }) },
    })),
    settingSha256: sha256,
    setting: bareSetting,
  }),
}, ['verdict', 'pin']);

/** For readers that are not ours: editors, build servers. What a circuit refuses as a whole (a law that is not monotone) it cannot say. */
export function settingSchema(): object {
  return {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    title: 'Stagebench setting',
    ...closedObject({
      format: { const: settingFormat },
      version: { const: settingVersion },
      numerics: { type: 'integer', minimum: 1 },
      title: { type: 'string', maxLength: 200 },
      notes: { type: 'array', maxItems: 1000, items: noteSchema },
      baseRateHz: { type: 'number', minimum: 8000, maximum: 384_000 },
      fullScaleDbu: { enum: [18, 22, 24] },
      oversamplingFactor: { enum: [...oversamplingFactors] },
      ladder: { enum: ['linear-phase', 'minimum-latency'] },
      surroundings: { oneOf: [{ type: 'null' }, valuesSchema(surroundings)] },
      supply: { oneOf: [{ type: 'null' }, valuesSchema(supply)] },
      path: { type: 'array', maxItems: maximumStages, items: { oneOf: stages.map(stageSchema) } },
      joints: forEachStage(closedObject({ joined: { type: 'boolean' }, differenceDb: { type: 'number', minimum: 0, maximum: greatestJointDifferenceDb } })),
      levelMatch: { oneOf: [{ type: 'null' }, closedObject({
        onTrial: { oneOf: [{ const: 'path' }, { ...closedObject({ stageIndex: { type: 'integer', minimum: 0 }, without: { type: 'string', maxLength: 60 } }), required: ['stageIndex'] }] },
        inGainDb: gainDb,
        outGainDb: gainDb,
        residualDb: { type: 'number', minimum: -200, maximum: 200 },
        programme: { type: 'string', maxLength: 300 },
      })] },
      rules: forEachStage(closedObject({
        rule: { enum: [...integrationRules] },
        errorDb: { type: 'number', minimum: 0, maximum: greatestRuleErrorDb },
      })),
      checksum: { type: 'string', pattern: '^sha256:[0-9a-f]{64}$' },
    }, optionalFields),
  };
}

function stageSchema(stage: StageDefinition): object {
  return closedObject({
    stage: { const: stage.id },
    inCircuit: { type: 'boolean' },
    reversed: { type: 'boolean' },
    joined: { type: 'boolean' },
    values: valuesSchema(stage),
  }, ['joined']);
}

function valuesSchema({ parameters }: SheetDefinition): object {
  return closedObject(Object.fromEntries(parameters.map((parameter) => [parameter.id, parameterSchema(parameter)])));
}

/** Null, or one entry or null for each stage of the path. */
function forEachStage(entry: object): object {
  return { oneOf: [{ type: 'null' }, { type: 'array', maxItems: maximumStages, items: { oneOf: [{ type: 'null' }, entry] } }] };
}

function parameterSchema(parameter: Parameter): object {
  return parameter.kind === 'choice'
    ? { description: parameter.label, enum: parameter.options.map(({ id }) => id) }
    : { description: parameter.unit ? `${parameter.label}, ${parameter.unit}` : parameter.label, type: 'number', minimum: parameter.minimum, maximum: parameter.maximum };
}

function orNull(schema: object): object {
  return { oneOf: [{ type: 'null' }, schema] };
}

function closedObject(properties: Record<string, object>, optional: readonly string[] = []): object {
  return { type: 'object', properties, required: Object.keys(properties).filter((name) => !optional.includes(name)), additionalProperties: false };
}
