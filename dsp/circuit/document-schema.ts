/** JSON Schema of the circuit document, made from the same table as the parser. */
import { componentFields } from './component-fields.ts';
import type { FieldRule } from './component-fields.ts';
import type { ComponentKind } from './components.ts';
import { absoluteZeroC, circuitFormat, circuitVersion, defaultTemperatureC } from './document.ts';

type Schema = Readonly<Record<string, unknown>>;

/**
 * JSON Schema (draft 2020-12) of a circuit document. It says all the parser says but two things no schema can: that names are not
 * repeated, and that the output's nodes are touched by a component.
 */
export function circuitDocumentSchema(): Schema {
  const kinds = Object.keys(componentFields) as ComponentKind[];
  return {
    $schema: 'https://json-schema.org/draft/2020-12/schema',
    title: 'Circuit document',
    type: 'object',
    required: ['format', 'version', 'components', 'output'],
    additionalProperties: false,
    properties: {
      format: { const: circuitFormat },
      version: { const: circuitVersion },
      title: { type: 'string', default: '' },
      temperatureC: { type: 'number', exclusiveMinimum: absoluteZeroC, default: defaultTemperatureC },
      components: {
        type: 'array',
        minItems: 1,
        items: { oneOf: kinds.map((kind) => ({ $ref: `#/$defs/${kind}` })) },
        contains: { type: 'object', required: ['kind'], properties: { kind: { const: 'input' } } },
        minContains: 0,
        maxContains: 1,
      },
      output: { $ref: '#/$defs/pair' },
    },
    $defs: {
      node: { type: 'string', minLength: 1 },
      pair: { type: 'array', prefixItems: [{ $ref: '#/$defs/node' }, { $ref: '#/$defs/node' }], items: false, minItems: 2 },
      ...Object.fromEntries(kinds.map((kind) => [kind, componentSchema(kind)])),
    },
  };
}

function componentSchema(kind: ComponentKind): Schema {
  const rules = Object.entries<FieldRule>(componentFields[kind]);
  const required = rules.filter(([, rule]) => rule.absent === undefined && rule.type !== 'not-yet').map(([field]) => field);
  return {
    type: 'object',
    required: ['kind', 'name', ...required],
    additionalProperties: false,
    properties: {
      kind: { const: kind },
      name: { type: 'string', minLength: 1 },
      ...Object.fromEntries(rules.map(([field, rule]) => [field, fieldSchema(rule)])),
    },
  };
}

function fieldSchema(rule: FieldRule): Schema {
  switch (rule.type) {
    case 'node':
    case 'pair':
      return { $ref: `#/$defs/${rule.type}` };
    case 'choice':
      return { enum: rule.of };
    case 'not-yet':
      return { const: 0 };
    case 'number': {
      const { above, least, most } = rule.range;
      return {
        type: rule.absent === null ? ['number', 'null'] : 'number',
        ...(above === undefined ? {} : { exclusiveMinimum: above }),
        ...(least === undefined ? {} : { minimum: least }),
        ...(most === undefined ? {} : { maximum: most }),
        ...(rule.absent === undefined ? {} : { default: rule.absent }),
      };
    }
  }
}
