/** The state of a first visit: complete and silent. */
import { openingSetting } from '../../dsp/setting/index.ts';
import type { Setting } from '../../dsp/setting/index.ts';
import { defaultLetters } from './keys.ts';
import { openingDemonstration } from './reduce-demonstration.ts';
import { openingReport } from './reduce-report.ts';
import { openingDifference } from './reduce-difference.ts';
import { noDrafts } from './no-drafts.ts';
import { openingInput } from './reduce-live-input.ts';
import { openingHearing } from './reduce-hearing.ts';
import { openingMaterial } from './reduce-material.ts';
import { openingLong } from './reduce-sitting.ts';
import type { BenchState, LiveState, LoopEntry, SessionState } from './state.ts';

/** Never restored, whatever was heard last time. */
export const openingMonitorDb = -20;

export function openingSession(setting: Setting, loops: readonly LoopEntry[]): SessionState {
  const { stages } = setting.path;
  const open = stages.find(({ stage }) => stage === 'push-pull') ?? stages[0];
  const loop = loops.find(({ identifier }) => /piano/.test(identifier)) ?? loops[0];
  return {
    openStageKey: open?.key ?? '',
    onTrial: { kind: 'path' },
    pair: null,
    drafts: noDrafts,
    loop: loop?.identifier ?? '',
    region: null,
    probe: { frequencyHz: 200, levelDbu: 4 },
    scope: 'path',
    ledgerShowsPhase: false,
    harmonicsHeld: false,
    keptMarks: null,
    series: 'E24',
    look: 'system',
    partsListChosen: false,
    marginOpen: false,
    keys: { singleLetters: true, letters: defaultLetters, speakSwitches: false },
    figures: { open: null, last: null, scope: 'path', values: {} },
    kept: [],
    firstLook: { played: false, switched: false, dialled: false, frozen: false },
  };
}

export const openingLive: LiveState = {
  revision: 1,
  trialRevision: 1,
  soundingRevision: 0,
  playing: false,
  trialIn: true,
  monitorDb: openingMonitorDb,
  match: { kind: 'stale' },
  harmonics: null,
  harmonicsBehindHold: null,
  gestureMarks: null,
  reports: {},
  jointLevelsDbu: {},
  headroom: null,
  supplied: null,
  interfaced: null,
  refusals: {},
  fault: null,
  engine: { kind: 'silent' },
  solver: { meanEvaluations: 0, rescues: 0, capHits: 0 },
  loopsBecause: null,
  message: null,
  canUndo: false,
  canRedo: false,
  changedSinceFrozen: false,
  ownsAutosave: true,
  toneAsked: null,
  tone: null,
  hearing: openingHearing,
  input: openingInput,
  material: openingMaterial,
  rendering: null,
  tonePlaying: false, search: null, spectrum: null, blind: null, excerpts: [], long: openingLong, difference: openingDifference,
  sessionLog: [],
  ticket: null,
  demonstration: openingDemonstration,
  report: openingReport,
  shelf: null,
  wholePage: null,
  programme: null,
  baseRateHz: 48_000,
  goToOpen: false,
};

export function openingState(loops: readonly LoopEntry[]): BenchState {
  const setting = openingSetting();
  return { setting, session: openingSession(setting, loops), live: openingLive };
}
