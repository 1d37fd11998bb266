/** Transport, and the answers of the engine; older answers than what is already known are dropped. Pure. */
import { withLive, withMessage, withSession } from './changes.ts';
import { openingMonitorDb } from './opening.ts';
import { inName, outName, tellHarmonics, tellState } from './tell.ts';
import type { StoredJoint, StoredLevelMatch, StoredRule } from '../../dsp/setting/index.ts';
import type { Action, BenchState, HarmonicReadings, MatchState } from './state.ts';

export const quietestMonitorDb = -60;
export const loudestMonitorDb = 0;

/** The frequency used may differ from the one asked for, so that whole periods fit (at most a 64th part, and far less in practice). */
const frequencySlack = 1 / 64;

export function reduceLive(state: BenchState, action: Action): BenchState {
  const { live } = state;
  switch (action.kind) {
    case 'play':
      return withLive(state, { playing: true, tonePlaying: false, toneAsked: null });
    case 'pause':
      return withLive(state, { playing: false, tonePlaying: false });
    case 'silence':
      return withLive(state, { playing: false, tonePlaying: false, toneAsked: null });
    case 'switch': {
      const switched = withLive(state, { trialIn: action.trialIn });
      if (action.trialIn === live.trialIn || !state.session.keys.speakSwitches) return switched;
      return withMessage(switched, action.trialIn ? inName(state) : outName(state));
    }
    case 'monitor': {
      if (Number.isNaN(action.monitorDb)) return state;
      return withLive(state, { monitorDb: Math.min(loudestMonitorDb, Math.max(quietestMonitorDb, action.monitorDb)) });
    }
    case 'match':
      return withLive(state, { match: { kind: action.on ? 'stale' : 'off' } });
    case 'ask-tone':
      return withLive(state, { toneAsked: { kind: 'sine', frequencyHz: action.frequencyHz, levelDbu: action.levelDbu } });
    case 'consent-tone':
      return consentTone(state);
    case 'refuse-tone':
      return withLive(state, { toneAsked: null });
    case 'render':
      return live.rendering === null ? withLive(state, { rendering: 0 }) : state;
    case 'stop-render':
      return withLive(state, { rendering: null });
    case 'rendering':
      return live.rendering === null ? state : withLive(state, { rendering: action.done });
    case 'tell':
      return withMessage(state, action.what === 'state' ? tellState(state) : tellHarmonics(state));
    case 'engine-state':
      return engineState(state, action.engine);
    case 'sounding':
      return action.revision > live.soundingRevision ? withLive(state, { soundingRevision: action.revision }) : state;
    case 'measured':
      return measured(state, action.harmonics);
    case 'reported':
      return action.revision < live.revision ? state : withLive(state, { reports: action.reports, jointLevelsDbu: action.jointLevelsDbu });
    case 'ruled':
      return action.revision < live.revision ? state : withRules(state, action.rules);
    case 'headroom':
      return action.revision < live.revision ? state : withLive(state, { headroom: action.headroom });
    case 'interfaced':
      return action.revision < live.revision ? state : withLive(state, { interfaced: action.verdict });
    case 'supplied':
      return action.revision < live.revision ? state : withLive(state, { supplied: action.figures });
    case 'probed':
      return action.revision < live.revision ? state : withJoints(state, action.joints);
    case 'matched':
      return action.revision < live.trialRevision || live.match.kind === 'off' ? state : withMatch(state, action.match);
    case 'match-applied':
      return live.match.kind === 'matched' ? withLive(state, { match: { ...live.match, waitsForSwitch: false } }) : state;
    case 'spectrum':
      return withLive(state, { spectrum: action.spectrum });
    case 'fault':
      return action.revision < live.revision ? state : withLive(state, { fault: action.fault });
    case 'loops':
      return withLive(state, { loopsBecause: action.why });
    case 'solver':
      return withLive(state, { solver: action.solver });
    case 'message':
      return withMessage(state, action.text, action.urgent);
    case 'autosave-owner':
      return withLive(state, { ownsAutosave: action.owns });
    default:
      return state;
  }
}

/** The noise for a sound-level meter begins low, however loud the music was. */
function consentTone(state: BenchState): BenchState {
  const { toneAsked, monitorDb } = state.live;
  if (!toneAsked) return state;
  const began = withLive(state, { tonePlaying: true, playing: false, toneAsked: null, tone: toneAsked });
  return toneAsked.kind === 'noise' ? withLive(began, { monitorDb: Math.min(monitorDb, openingMonitorDb) }) : began;
}

function engineState(state: BenchState, engine: BenchState['live']['engine']): BenchState {
  const changed = withLive(state, { engine });
  if (engine.kind === 'rebuilt') return withMessage(changed, engine.sentence, true);
  if (engine.kind === 'failed') return withMessage(withLive(changed, { playing: false, tonePlaying: false }), engine.sentence, true);
  return changed;
}

/** Figures of another scope or probe, or older than those shown, are dropped; those that come while the ledger is held wait behind it. */
function measured(state: BenchState, harmonics: HarmonicReadings): BenchState {
  const { session, live } = state;
  const asked = harmonics.scope === session.scope && harmonics.levelDbu === session.probe.levelDbu
    && Math.abs(harmonics.frequencyHz / session.probe.frequencyHz - 1) <= frequencySlack;
  const newest = live.harmonicsBehindHold ?? live.harmonics;
  if (!asked || (newest && harmonics.revision < newest.revision) || harmonics.revision > live.revision) return state;
  return withLive(state, session.harmonicsHeld ? { harmonicsBehindHold: harmonics } : { harmonics, harmonicsBehindHold: null });
}

/** The rules that were chosen are stored in the setting too. */
function withRules(state: BenchState, rules: readonly (StoredRule | null)[]): BenchState {
  const { setting } = state;
  if (rules.length !== setting.path.stages.length || JSON.stringify(rules) === JSON.stringify(setting.rules)) return state;
  return { ...state, setting: { ...setting, rules } };
}

/** Verdicts are stored in the setting: the plan joins what they ask for. The same verdicts again change nothing. */
function withJoints(state: BenchState, joints: readonly (StoredJoint | null)[]): BenchState {
  const { setting } = state;
  if (joints.length !== setting.path.stages.length || JSON.stringify(joints) === JSON.stringify(setting.joints)) return state;
  return { ...state, setting: { ...setting, joints } };
}

/** A finished match is stored in the setting too: a frozen file carries its gains. Not of a pair, for a file holds one path. */
function withMatch(state: BenchState, match: MatchState): BenchState {
  const shown = withLive(state, { match });
  if (match.kind !== 'matched' || state.session.pair !== null) return shown;
  const { onTrial, loop } = state.session;
  const stageIndex = onTrial.kind === 'path' ? -1 : state.setting.path.stages.findIndex(({ key }) => key === onTrial.key);
  const levelMatch: StoredLevelMatch = {
    onTrial: stageIndex < 0 ? 'path' : onTrial.kind === 'without' ? { stageIndex, without: onTrial.mechanism } : { stageIndex },
    inGainDb: match.inGainDb, outGainDb: match.outGainDb, residualDb: match.residualDb, programme: loop,
  };
  return { ...shown, setting: { ...shown.setting, levelMatch } };
}

/** Steps of the first look, struck through as they are done; folded away when all are. */
export function withFirstLook(before: BenchState, after: BenchState, action: Action): BenchState {
  const { firstLook } = after.session;
  if (!firstLook) return after;
  const done = {
    played: firstLook.played || action.kind === 'play',
    switched: firstLook.switched || action.kind === 'switch' || action.kind === 'stage-in-out',
    dialled: firstLook.dialled || raisesQuiescentCurrent(before, action),
    frozen: firstLook.frozen || action.kind === 'freeze',
  };
  if (done.played && done.switched && done.dialled && done.frozen) return withSession(after, { firstLook: null });
  const changed = done.played !== firstLook.played || done.switched !== firstLook.switched || done.dialled !== firstLook.dialled || done.frozen !== firstLook.frozen;
  return changed ? withSession(after, { firstLook: done }) : after;
}

function raisesQuiescentCurrent(before: BenchState, action: Action): boolean {
  if (action.kind !== 'set-value' || !/^quiescent/.test(action.parameter)) return false;
  const old = before.setting.path.stages.find(({ key }) => key === action.stageKey)?.values[action.parameter];
  return typeof old === 'number' && typeof action.value === 'number' && action.value > old;
}
