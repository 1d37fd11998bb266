/** What a report says of a setting, section by section. A section is an entry of the list at the end: its figures for machines, its rows and sentences for people. */
import {
  noiseReadings, pathHeadroom, pathNoise, pathSupply, supplyHz, supplyReadings, supplyRemark, type ClipMemory, type PathHeadroom, type PathNoise, type PathOscillation, type PathSupply,
} from '../../../dsp/measure/index.ts';
import { hasNoise, hasRipple, writeQuantity, type PathPlan } from '../../../dsp/path/index.ts';
import type { Setting } from '../../../dsp/setting/index.ts';
import { stageById, type Quantity, type StageReading, type StageRemark } from '../../../dsp/stages/index.ts';

export interface ReportContext {
  readonly setting: Setting;
  /** Of the path as it plays, by the measuring grade. */
  readonly plan: PathPlan;
  readonly baseRateHz: number;
}

/** One figure; `value` in base units, null where there is none (`absent` says why). */
export interface ReportRow {
  readonly about: string;
  readonly label: string;
  readonly value: number | null;
  readonly quantity: Quantity;
  readonly unit: string;
  readonly note?: string | undefined;
  readonly absent?: string;
}

export interface SectionContent {
  readonly json: unknown;
  readonly rows: readonly ReportRow[];
  /** Sentences under the rows. */
  readonly words: readonly string[];
  /** A check failed: the command ends with that exit code. */
  readonly failed?: boolean;
}

/** A section as it is put on paper. */
export interface TitledContent {
  readonly title: string;
  readonly content: SectionContent;
}

export interface ReportSection {
  /** Field of the JSON object, and of a line of comma-separated values. */
  readonly id: string;
  readonly title: string;
  make(context: ReportContext): SectionContent;
}

const fullScaleWords = (dbfs: number): string => writeQuantity(Number(dbfs.toFixed(1)), 'level', 'dBFS');
const decibelWords = (db: number): string => writeQuantity(Number(db.toFixed(1)), 'gain', 'dB');
export const rowsOf = (about: string, readings: readonly StageReading[]): ReportRow[] =>
  readings.map(({ label, value, quantity, unit, note }) => ({ about, label, value, quantity, unit, note }));
const sentenceOf = (about: string, { label, words }: StageRemark): string => `${about}: ${label}: ${words}`;

const stagesSection: ReportSection = {
  id: 'stages',
  title: 'Stages',
  make({ setting: { path }, plan, baseRateHz }) {
    const reported = path.stages.map(({ key, stage, inCircuit, values }, index) => {
      const definition = stageById(stage);
      // One that is joined to others, or out of circuit, has no program of its own in the plan.
      const planned = plan.stages.find(({ members }) => members.length === 1 && members[0]!.key === key);
      const program = planned?.wired.program ?? definition.program(values, { rateHz: baseRateHz * path.oversamplingFactor, source: null });
      const { readings, remarks } = definition.report(values, program);
      const joined = plan.stages.find(({ members }) => members.length > 1 && members.some((member) => member.key === key));
      return { place: index + 1, stage, title: definition.title, inCircuit, joined: joined !== undefined, readings, remarks };
    });
    const nameOf = ({ place, title }: (typeof reported)[number]): string => `${place} ${title}`;
    return {
      json: reported,
      rows: reported.flatMap((stage) => rowsOf(nameOf(stage), stage.readings)),
      words: reported.flatMap((stage) => [
        ...(stage.inCircuit ? [] : [`${nameOf(stage)}: out of circuit`]),
        ...(stage.joined ? [`${nameOf(stage)}: solved in one circuit with its neighbour`] : []),
        ...stage.remarks.map((remark) => sentenceOf(nameOf(stage), remark)),
      ]),
    };
  },
};

/** Clip levels take long and are wanted twice. */
const clipLevels = new WeakMap<PathPlan, ClipMemory>();

function clipMemoryOf(plan: PathPlan): ClipMemory {
  const known = clipLevels.get(plan) ?? new Map<string, number | null>();
  clipLevels.set(plan, known);
  return known;
}

function headroomOf({ setting, plan }: ReportContext): PathHeadroom | PathOscillation {
  const steps = pathHeadroom(setting.path, plan, { memory: clipMemoryOf(plan) });
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

const headroomTitle = 'Levels and headroom, 1 kHz at +4 dBu from the source';

function headroomContent(found: PathHeadroom): SectionContent {
  const row = (about: string, label: string, value: number | null, quantity: Quantity, unit: string, note?: string): ReportRow =>
    ({ about, label, value, quantity, unit, note, absent: 'none' });
  return {
    json: { ...found, stages: found.stages.map(({ key: _, ...stage }) => stage), first: found.first === null ? null : { title: found.first.title, marginDb: found.first.marginDb, limit: found.first.limit } },
    rows: [
      row('source', 'level', found.sourceDbu, 'level', 'dBu', fullScaleWords(found.sourceDbfs)),
      ...found.stages.flatMap(({ title, levelDbu, levelDbfs, clipDbu, clipDbfs, clipMarginDb, rails }) => [
        row(title, 'level at its output', levelDbu, 'level', 'dBu', fullScaleWords(levelDbfs)),
        ...(clipDbu === null ? [] : [
          row(title, 'clips at', clipDbu, 'level', 'dBu', `${fullScaleWords(clipDbfs!)}; 1 kHz, 1 % distortion`),
          row(title, 'margin to its clip point', clipMarginDb, 'gain', 'dB'),
        ]),
        ...rails.map(({ rail, node, marginDb }) => row(title, `margin to ${rail}`, marginDb, 'gain', 'dB', `at ${node}; straight on from small signals`)),
      ]),
      row('output', 'margin to full scale', found.fullScaleMarginDb, 'gain', 'dB', `0 dBFS = +${found.fullScaleDbu} dBu`),
    ],
    words: [found.first === null ? 'no stage runs out' : `${found.first.title} runs out first: ${found.first.marginDb.toFixed(1)} dB left to its ${found.first.limit === 'clip point' ? 'clip point' : `limit, ${found.first.limit}`}`],
  };
}

/** Under its heading, of what a worker has found. */
export const headroomFrom = (found: PathHeadroom): TitledContent => ({ title: headroomTitle, content: headroomContent(found) });

const headroomSection: ReportSection = {
  id: 'headroom',
  title: headroomTitle,
  make(context) {
    const found = headroomOf(context);
    if (!found.oscillates) return headroomContent(found);
    const place = context.setting.path.stages.findIndex(({ key }) => key === found.stageKey) + 1;
    return {
      json: { oscillates: true, spectralRadius: found.spectralRadius, place }, rows: [], failed: true,
      words: [`${place > 0 ? `stage ${place}` : 'the path'} oscillates or is bistable: spectral radius of a period ${found.spectralRadius.toPrecision(6)}; there are no levels to give`],
    };
  },
};

/** A fit within this is said of nowhere. */
const tellableFitDb = 0.25;

const noiseSection: ReportSection = {
  id: 'noise',
  title: 'Noise, 20 Hz to 20 kHz, unweighted',
  make(context) {
    const { setting: { path }, plan } = context;
    const found = pathNoise(path, plan);
    const headroom = headroomOf(context);
    const clipDbuOf = (key: string): number | null => (headroom.oscillates ? null : (headroom.stages.find((stage) => stage.key === key)?.clipDbu ?? null));
    const said = found.stages.flatMap(({ key, title, noise }) => (noise === null ? [] : [{ key, title, noise, ...noiseReadings(noise, clipDbuOf(key)) }]));
    return {
      json: noiseJson(found, clipDbuOf, hasNoise(path.supply)),
      rows: [
        ...said.flatMap(({ title, noise, readings }) => [
          ...rowsOf(title, readings),
          { about: title, label: 'of it at the path\'s output', value: noise.atPathOutputDbu, quantity: 'level' as const, unit: 'dBu' },
        ]),
        { about: 'path', label: 'noise at its output', value: found.outputDbu === -Infinity ? null : found.outputDbu, quantity: 'level', unit: 'dBu', absent: 'none' },
        { about: 'path', label: 'equivalent input noise', value: found.inputDbu, quantity: 'level', unit: 'dBu', absent: 'none' },
      ],
      words: [
        ...said.flatMap(({ title, noise: { fitErrorDb }, remarks }) => [
          ...remarks.map((remark) => sentenceOf(title, remark)),
          ...(fitErrorDb !== null && fitErrorDb > tellableFitDb ? [`${title}: the noise that plays is up to ${fitErrorDb.toFixed(1)} dB off this density in places`] : []),
        ]),
        `parts at ${found.temperatureC} °C; ${hasNoise(path.supply) ? 'the noise is on' : 'the noise is off in what plays'}; 1/f corners of the devices are common practice, no source`,
      ],
    };
  },
};

function noiseJson(found: PathNoise, clipDbuOf: (key: string) => number | null, on: boolean): unknown {
  return {
    on, temperatureC: found.temperatureC, outputDbu: finite(found.outputDbu), inputDbu: found.inputDbu,
    stages: found.stages.map(({ key, title, noise }) => {
      const clipDbu = clipDbuOf(key);
      return { title, noise: noise === null ? null : { ...noise, dynamicRangeDb: clipDbu === null ? null : clipDbu - noise.outputDbu } };
    }),
  };
}

const supplySection: ReportSection = {
  id: 'supply',
  title: 'Supply rails, shared by all stages',
  make({ setting: { path }, plan }) {
    const found = pathSupply(path, plan);
    const [strongest] = found.couplings;
    return {
      json: supplyJson(found, hasRipple(path.supply)),
      rows: [
        ...found.rails.flatMap(({ volts, amperes, rippleVolts, sagVolts }): ReportRow[] => {
          const about = `rail of ${writeQuantity(volts, 'voltage', 'V')}`;
          return [
            { about, label: 'delivers', value: amperes, quantity: 'current', unit: 'A', note: 'all stages at rest' },
            { about, label: 'ripple', value: rippleVolts, quantity: 'voltage', unit: 'V', note: 'peak to peak, regulated' },
            { about, label: 'sag', value: sagVolts, quantity: 'voltage', unit: 'V', note: 'below the supply without load' },
          ];
        }),
        ...found.stages.flatMap((stage) => rowsOf(stage.title, supplyReadings(stage))),
        ...(strongest === undefined ? [] : [{
          about: `${strongest.from} in ${strongest.to}`, label: 'coupling through the rails', value: strongest.db[1]!, quantity: 'gain' as const, unit: 'dB',
          note: `at 1 kHz; ${decibelWords(strongest.db[0]!)} at 100 Hz, ${decibelWords(strongest.db[2]!)} at 10 kHz; the strongest`,
        }]),
        ...(found.rippleDbu === null ? [] : [{
          about: 'path', label: 'ripple at its output', value: finite(found.rippleDbu), quantity: 'level' as const, unit: 'dBu', absent: 'none', note: `${String(found.values['rippleHertz'])} Hz and its harmonics`,
        }]),
      ],
      words: [
        path.supply === null ? 'with the values that a supply begins with: the setting has none' : `the ripple is ${hasRipple(path.supply) ? 'on' : 'off'}`,
        `${supplyRemark.label}: ${supplyRemark.words}`,
      ],
    };
  },
};

function supplyJson({ rails, stages, couplings, rippleDbu, values }: PathSupply, on: boolean): unknown {
  return {
    on, values, frequenciesHz: supplyHz, rails, rippleDbu: rippleDbu === null ? null : finite(rippleDbu),
    stages: stages.map(({ title, rails: own, rippleDbu: ripple }) => ({
      title, rippleDbu: ripple === null ? null : finite(ripple), rails: own.map((rail) => ({ ...rail, rejectionDb: rail.rejectionDb.map(finite) })),
    })),
    couplings: couplings.map(({ from, to, db }) => ({ from, to, db: db.map(finite) })),
  };
}

/** "−62.1 dB"; why there is none. */
export function figureWords({ value, quantity, unit, absent }: ReportRow): string {
  return value === null ? (absent ?? 'unknown') : writeQuantity(value, quantity, unit);
}

/** JSON has no infinity. */
const finite = (value: number): number | null => (Number.isFinite(value) ? value : null);

/** In the order they are told. */
export const reportSections: readonly ReportSection[] = [stagesSection, headroomSection, noiseSection, supplySection];
