/** Paths to begin from, each with what to listen for. Names and values are our own; the sessions are those of our loops: clarinet, piano and double bass in a village hall. */
import { surroundings } from '../path/index.ts';
import type { PathStage } from '../path/index.ts';
import { defaultValues, resolveValues, stageById } from '../stages/index.ts';
import type { Setting } from './contract.ts';
import { SettingError } from './setting-error.ts';

type Values = Readonly<Record<string, number | string>>;

interface ReadyStage {
  readonly stage: string;
  /** What differs from the stage's defaults. */
  readonly values?: Values;
  readonly reversed?: boolean;
}

export interface ReadyPath {
  /** Kebab-case, on the command line. */
  readonly id: string;
  readonly title: string;
  /** What is to be heard, and what to turn to hear it come and go. */
  readonly listenFor: string;
  readonly stages: readonly ReadyStage[];
  /** What differs from the defaults of the surroundings; null: none. */
  readonly surroundings: Values | null;
}

/** Written into every setting made from a ready path. */
const noteDate = '2026-11-25';

/** A transformer 1 : 1 before the path, driven by a line output and bridged. */
const inputTransformer: ReadyStage = { stage: 'transformer-output', values: { buildOutOhms: 10, lineMetres: 1 } };

export const readyPaths: readonly ReadyPath[] = [
  {
    id: 'hall-amplifier',
    title: 'village hall, amplifier between transformers',
    listenFor: 'The double bass. The cores add third harmonic under 100 Hz and nothing above 1 kHz; at line level the class-A output is clean. Put stage 1 on trial for one core alone, '
      + 'then raise the drive of stage 2: with feedback and class A the second harmonic leads and stays far down to +26 dBu; one decibel more and it breaks at once.',
    stages: [inputTransformer, { stage: 'line-amplifier' }],
    surroundings: { loadOhms: 1e4, balance: 'transformer', returnMetres: 30 },
  },
  {
    id: 'hall-op-amp',
    title: 'village hall, op-amp and direct output',
    listenFor: 'One core in place of two, and the line driven directly: what is left in the bass is the input transformer’s, and nothing of the amplifier’s joins it. Then lower the tail current of stage 2, raise its '
      + 'drive and listen to the attack of the clarinet, where its distortion rises with frequency.',
    stages: [inputTransformer, { stage: 'op-amp-discrete' }],
    surroundings: { loadOhms: 1e4, balance: 'transformer', returnMetres: 30 },
  },
  {
    id: 'evening-dance',
    title: 'evening dance, push-pull into 600 ohm',
    listenFor: 'The end of a piano note. Crossover grows as the sound decays: high odd orders that the attack hides. Raise the quiescent current of stage 2 to 1.3 mA and they are gone; to 2.6 mA, as the rule of '
      + '26 mV would have it, and a little comes back.',
    stages: [{ stage: 'op-amp-integrated' }, { stage: 'push-pull', values: { quiescentAmperes: 3e-4, loadOhms: 6e5 } }],
    surroundings: { sourceOhms: 600, loadOhms: 600, balance: 'electronic' },
  },
  {
    id: 'rehearsal',
    title: 'rehearsal, harmonic shaping only',
    listenFor: 'Second harmonic without a circuit: body in the clarinet’s low register at −50 dB, a second instrument at −35 dB. Turn its sign and listen to the attack: with the third it adds up differently at the same level.',
    stages: [{ stage: 'harmonic-shaping', values: { secondDb: -50, thirdDb: -66 } }],
    surroundings: null,
  },
  {
    id: 'by-the-window',
    title: 'by the window, equaliser only',
    listenFor: 'A bell at 2.4 kHz brings the clarinet forward, a shelf from 7 kHz opens the room. Switch section 1 off and on at the same loudness: what comes forward is one instrument, not the treble.',
    stages: [{ stage: 'equaliser', values: { section1Kind: 'bell', section1Hz: 2400, section1Db: 3, section1Quality: 4, section2Kind: 'high-shelf', section2Hz: 7000, section2Db: 2 } }],
    surroundings: null,
  },
  {
    id: 'one-microphone',
    title: 'one microphone, to the line',
    listenFor: 'The whole way of one microphone: step-up transformer, equaliser, output transformer, 100 m of line. Switch the supply’s noise on and listen to what a gain of 44 dB makes of 150 ohm; then turn the length '
      + 'of the line and hear where its resonance with the leakage comes into the treble.',
    stages: [
      { stage: 'microphone-input', values: { input: 'transformer' } },
      { stage: 'equaliser', values: { section1Kind: 'off', section2Db: 1.5, section2Hz: 9000 } },
      { stage: 'push-pull' },
      { stage: 'transformer-output', values: { buildOutOhms: 10, lineMetres: 1 } },
      { stage: 'line', values: { lineMetres: 100 } },
    ],
    surroundings: null,
  },
];

/** Every stage of a long path once, and both transformers and op-amps: what a path of ten stages sounds like and costs. */
const tenStages: readonly ReadyStage[] = [
  { stage: 'microphone-input' },
  { stage: 'op-amp-integrated' },
  { stage: 'equaliser' },
  { stage: 'single-ended-bipolar' },
  { stage: 'push-pull' },
  { stage: 'transformer-input', values: { turnsRatio: 1, sourceOhms: 50, secondaryOhms: 40, driveDb: -20, makeUpDb: 20.2 } },
  { stage: 'op-amp-discrete' },
  { stage: 'harmonic-shaping' },
  { stage: 'transformer-output' },
  { stage: 'line' },
];

/** The setting of a ready path: what differs from the defaults, what to listen for as its note. @throws SettingError naming the known ones */
export function readySetting(id: string): Setting {
  const ready = readyPaths.find((path) => path.id === id);
  if (!ready) throw new SettingError(`ready path: expected one of ${readyPaths.map((path) => path.id).join(', ')}, got ${id}`);
  return settingOf(ready.title, ready.stages, ready.surroundings, ready.listenFor);
}

/** A path of ten stages: microphone input, two op-amps, equaliser, single-ended, push-pull, two transformers, shaping, line. */
export function tenStagePath(): Setting {
  return settingOf('ten stages, from the microphone to the line', tenStages, null, 'Every kind of stage in one path.');
}

function settingOf(title: string, stages: readonly ReadyStage[], around: Values | null, text: string): Setting {
  return {
    title,
    notes: [{ date: noteDate, text }],
    baseRateHz: 48_000,
    levelMatch: null,
    rules: null,
    joints: null,
    path: {
      oversamplingFactor: 8,
      ladder: 'linear-phase',
      fullScaleDbu: 24,
      surroundings: around && resolveValues(surroundings, around),
      supply: null,
      stages: stages.map(({ stage, values = {}, reversed = false }, index): PathStage => ({
        key: `s${index + 1}`, stage, inCircuit: true, reversed, joined: false, values: resolveValues(stageById(stage), { ...defaultValues(stageById(stage)), ...values }),
      })),
    },
  };
}
