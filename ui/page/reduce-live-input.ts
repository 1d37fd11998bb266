/** A live input: asked for, open, heard, lost; and the measurement of its way. Pure. */
import { writeQuantity } from '../../dsp/path/index.ts';
import { withLive, withMessage } from './changes.ts';
import type { LiveInputState } from './live-input-state.ts';
import type { Action, BenchState, LiveState } from './state.ts';

/** The monitor as an input begins to be heard. */
export const inputMonitorDb = -40;
export const loudestLoopbackDbfs = -20;
/** Of what came in, when it is kept as a loop. */
export const keptAtOnceSeconds = 20;
export const noPlaceSentence = 'Live input has no position and no region: keep a stretch of it as a loop, or choose a loop.';

export const openingInput: LiveInputState = {
  phase: 'closed', sounding: false, devices: [], deviceId: null, channels: 'mono', settings: null, trouble: null, kept: [],
  latency: null, loopback: { kind: 'none' }, loopbackDbfs: -40,
};

/** What an action asks for that a live input has not: said instead of done. Null: it may be done. */
export function refusedByLiveInput({ live }: BenchState, action: Action): string | null {
  if (!live.input.sounding) return null;
  switch (action.kind) {
    case 'seek': case 'region': return noPlaceSentence;
    case 'hear-difference': return action.heard ? 'What is added is computed of a loop: keep a stretch of the live input as one, or choose a loop.' : null;
    default: return null;
  }
}

/** `loopBefore`: the loop that was chosen before the action; another one takes the input's place. */
export function reduceLiveInput(reduced: BenchState, action: Action, loopBefore: string): BenchState {
  const state = action.kind === 'loop' || reduced.session.loop !== loopBefore ? withLoop(reduced) : reduced;
  const { live } = state;
  const { input } = live;
  switch (action.kind) {
    case 'input-ask':
      if (live.blind !== null || live.long.sitting !== null) return state;
      if (input.phase === 'open') return heard(state);
      return input.phase === 'opening' ? state : withInput(state, { phase: 'asked', trouble: null }, { playing: false, tonePlaying: false, toneAsked: null });
    case 'input-refuse':
      return input.phase === 'asked' ? withInput(state, { phase: 'closed' }) : state;
    case 'input-consent':
      return input.phase === 'asked' ? withInput(state, { phase: 'opening' }) : state;
    case 'input-opened':
      if (input.phase === 'closed' || input.phase === 'asked') return state;
      return heard(withInput(state, { phase: 'open', settings: action.settings, devices: action.devices, deviceId: action.settings.deviceId, trouble: null, latency: null, loopback: { kind: 'none' } }));
    case 'input-lost':
      return withMessage(closed(state, action.sentence), action.sentence, true);
    case 'input-close':
      return closed(state, null);
    case 'input-device':
      return input.phase === 'open' && action.deviceId !== input.deviceId ? withInput(state, { phase: 'opening', deviceId: action.deviceId, sounding: false }, quietWhere(input.sounding)) : state;
    case 'input-devices':
      return withInput(state, { devices: action.devices });
    case 'input-channels':
      return withInput(state, { channels: action.channels });
    case 'input-hear':
      if (input.phase !== 'open') return state;
      return action.heard ? heard(state) : withInput(state, { sounding: false });
    case 'input-latency':
      return withInput(state, { latency: action.latency });
    case 'input-kept':
      return withInput(state, { kept: [...input.kept, action.loop] });
    case 'input-howl': {
      const sentence = `Muted: a tone near ${writeQuantity(action.frequencyHz, 'frequency', 'Hz')} held or grew by itself, as a howl does. Use headphones or turn the loudspeakers down; then press Play.`;
      return withMessage(withInput(state, { trouble: sentence }, { playing: false, monitorDb: inputMonitorDb }), sentence, true);
    }
    case 'loopback-ask':
      return input.phase === 'open' ? withInput(state, { loopback: { kind: 'asked' } }, { playing: false, tonePlaying: false }) : state;
    case 'loopback-refuse':
      return withInput(state, { loopback: { kind: 'none' } });
    case 'loopback-louder':
      return withInput(state, { loopbackDbfs: Math.min(loudestLoopbackDbfs, input.loopbackDbfs + 10), loopback: { kind: 'asked' } });
    case 'loopback-measure':
      return input.loopback.kind === 'asked' ? withInput(state, { loopback: { kind: 'measuring' } }, { playing: false, tonePlaying: false }) : state;
    case 'loopback-told':
      return input.loopback.kind === 'measuring' ? withInput(state, { loopback: { kind: 'told', finding: action.finding, rateHz: action.rateHz } }) : state;
    // What else plays or is asked for takes the place of a question, and of an input that is still being opened; Escape closes nothing that is open.
    case 'play': case 'ask-tone': case 'consent-tone': case 'silence': case 'blind-setup': case 'sitting-open':
      return withoutQuestion(state);
    default:
      return state;
  }
}

/** A loop is what plays: the input may stay open. */
function withLoop(state: BenchState): BenchState {
  const asked = withoutQuestion(state);
  return asked.live.input.sounding ? withInput(asked, { sounding: false }) : asked;
}

/** What is heard now was kept of a live input, or is one whose kept stretch is on the bench: the match was measured on that. */
export function matchedOnKept({ session, live }: BenchState): boolean {
  return live.input.kept.includes(session.loop);
}

/** From the monitor level of a beginning. */
function heard(state: BenchState): BenchState {
  return withInput(state, { sounding: true, trouble: null }, { difference: { ...state.live.difference, heard: false }, playing: true, tonePlaying: false, toneAsked: null, monitorDb: Math.min(inputMonitorDb, state.live.monitorDb) });
}

function closed(state: BenchState, trouble: string | null): BenchState {
  const { sounding } = state.live.input;
  return withInput(state, { phase: 'closed', sounding: false, settings: null, latency: null, loopback: { kind: 'none' }, trouble }, quietWhere(sounding));
}

function withoutQuestion(state: BenchState): BenchState {
  const { phase, loopback } = state.live.input;
  const awaited = phase === 'asked' || phase === 'opening';
  if (!awaited && loopback.kind !== 'asked' && loopback.kind !== 'measuring') return state;
  return withInput(state, { phase: awaited ? 'closed' : phase, loopback: loopback.kind === 'told' ? loopback : { kind: 'none' } });
}

/** The loop does not begin by itself where the input ends. */
function quietWhere(sounding: boolean): Partial<LiveState> {
  return sounding ? { playing: false } : {};
}

function withInput(state: BenchState, input: Partial<LiveInputState>, live: Partial<LiveState> = {}): BenchState {
  return withLive(state, { ...live, input: { ...state.live.input, ...input } });
}
