/** Long listenings: planning, sittings, the end. Pure. */
import { requireLongPlan, requireSittingLog, type LongPlan } from '../../dsp/listening/index.ts';
import { largestComparedResidualDb, type Compared, type LongListening } from '../../dsp/setting/index.ts';
import { withLive, withPath, withSession, withStaleMatch } from './changes.ts';
import { comparedOf, trialOf } from './compared-of.ts';
import type { Drafts } from './drafts-state.ts';
import { programmeOf } from './pins.ts';
import { blindHindrance } from './reduce-blind.ts';
import type { KeptListening, LongState, SetAside, Sitting } from './sitting-state.ts';
import type { Action, BenchState } from './state.ts';

export const openingLong: LongState = { listenings: [], choice: { pairs: 8, question: 'ease', significance: 0.05 }, ending: null, sitting: null };

const longestWords = 4000;

/** Why no long listening can be planned of what is on the bench; null: it can. */
export function planHindrance(state: BenchState): string | null {
  const blind = blindHindrance({ ...state.live, loopLoaded: state.live.programme !== null });
  if (blind !== null) return blind;
  try {
    requireLongPlan({ ...state.live.long.choice, seed: 0 });
    return null;
  } catch (error) {
    return (error as Error).message;
  }
}

/** Why the next sitting of a listening cannot be opened now; null: it can. */
export function openingHindrance({ session, live }: BenchState, { compared: { programme } }: LongListening): string | null {
  if (live.input.sounding) return 'End the live input first.';
  if (programme === null) return 'Its programme is not known.';
  return programme.identifier.startsWith('file:') && programme.identifier !== session.loop ? `Open the file “${programme.title}” first: the bench keeps no recordings.` : null;
}

/** Why the sitting that is open cannot begin yet, or cannot go on; null: it can. */
export function sittingHindrance(state: BenchState): string | null {
  const { live } = state;
  const listening = sittingListening(state);
  if (listening === null) return 'There is no sitting.';
  const { concealment, phase } = live.long.sitting!;
  if (concealment.kind === 'failed') return `The side could not be concealed: ${concealment.why}. Leave the sitting and open it again.`;
  if (phase !== 'ready') return null;
  const { programme, levelMatch } = listening.compared;
  const present = programmeOf(state);
  if (live.programme === null || present?.identifier !== programme?.identifier) return 'The programme is being loaded; wait a moment.';
  if (present?.sha256 !== programme?.sha256 || present?.trimDb !== programme?.trimDb) return 'This is not the recording that the plan was made on, or not turned down as it was then.';
  const blind = blindHindrance({ ...live, loopLoaded: true });
  if (blind !== null) return blind;
  if (live.match.kind === 'matched') {
    const shiftDb = live.match.inGainDb - live.match.outGainDb - (levelMatch.inGainDb - levelMatch.outGainDb);
    if (!(Math.abs(shiftDb) <= largestComparedResidualDb)) return `The level match has moved by ${Math.abs(shiftDb).toFixed(2)} dB since the plan was made: this bench does not reckon as that one did. End this listening and plan another.`;
  }
  if (live.soundingRevision < live.revision) return 'The circuit is being put in place; wait a moment.';
  return concealment.kind === 'asked' ? 'The side is being chosen; wait a moment.' : null;
}

/** The listening whose sitting is open. */
export function sittingListening({ live: { long } }: BenchState): LongListening | null {
  return long.listenings.find(({ id }) => id === long.sitting?.id)?.listening ?? null;
}

export function reduceSitting(state: BenchState, action: Action): BenchState {
  const { long } = state.live;
  const { sitting } = long;
  switch (action.kind) {
    case 'long-choice':
      return withLong(state, { choice: action.choice });
    case 'long-plan':
      return plan(state, action);
    case 'long-listed':
      return withLong(state, { listenings: [...long.listenings, ...action.listenings.filter(({ id }) => !long.listenings.some((known) => known.id === id))] });
    case 'long-take':
      return take(state, action);
    case 'long-ask-end':
      return withLong(state, { ending: action.id });
    case 'long-go-on':
      return withLong(state, { ending: null });
    case 'long-end':
      return withLong(withListening(state, action.id, (listening) => ({ ...listening, ended: listening.ended ?? action.date })), { ending: null });
    case 'long-remove':
      return withLong(state, { listenings: long.listenings.filter(({ id }) => id !== action.id), ending: null });
    case 'sitting-open':
      return open(state, action.id);
    case 'sitting-play':
      if (sitting === null || sitting.phase === 'log' || sittingHindrance(state) !== null) return state;
      return withLive(withSitting(state, sitting, { phase: 'hearing', began: sitting.began ?? action.now, leaving: false }), { playing: true, tonePlaying: false, toneAsked: null });
    case 'sitting-concealed':
      if (sitting === null) return state;
      return withLive(withSitting(state, sitting, { concealment: action.concealment }), action.concealment.kind === 'stands' ? {} : { playing: false });
    case 'sitting-over':
      return sitting?.phase === 'hearing' ? withLive(withSitting(state, sitting, { phase: 'log', toTheEnd: true }), { playing: false }) : state;
    case 'sitting-finish':
      return sitting?.phase === 'hearing' ? withLive(withSitting(state, sitting, { phase: 'log' }), { playing: false }) : state;
    case 'sitting-back':
      return sitting?.phase === 'log' && !sitting.toTheEnd ? withSitting(state, sitting, { phase: 'hearing' }) : state;
    case 'sitting-heard':
      return sitting === null ? state : withSitting(state, sitting, { heardSeconds: sitting.heardSeconds + action.seconds });
    case 'sitting-log':
      return sitting?.phase === 'log' ? log(state, sitting, action) : state;
    case 'whole-page':
      // A sitting is left by its own words alone.
      return sitting === null ? state : withLive(state, { wholePage: 'sitting' });
    case 'sitting-leave':
      if (sitting === null) return state;
      return sitting.began === null ? close(state, sitting) : withLive(withSitting(state, sitting, { leaving: true }), { playing: false });
    case 'sitting-stay':
      return sitting === null ? state : withSitting(state, sitting, { leaving: false });
    case 'sitting-drop':
      return sitting === null ? state : close(withListening(state, sitting.id, (listening) => ({ ...listening, brokenOff: listening.brokenOff + 1 })), sitting);
    default:
      return state;
  }
}

function plan(state: BenchState, { id, seed, date }: Extract<Action, { kind: 'long-plan' }>): BenchState {
  const { match, long } = state.live;
  if (planHindrance(state) !== null || match.kind !== 'matched') return state;
  const longPlan: LongPlan = { ...long.choice, seed };
  const listening: LongListening = { date, compared: comparedOf(state, match), plan: longPlan, sittings: [], brokenOff: 0, ended: null };
  return withLong(state, { listenings: [{ id, listening }, ...long.listenings] });
}

/** By day and chance of its plan: the same listening from a file is the same one. */
export function listeningId({ date, plan: { seed } }: Pick<LongListening, 'date'> & { readonly plan: Pick<LongPlan, 'seed'> }): string {
  return `${date}-${seed}`;
}

/** Whichever has come further stands. */
function take(state: BenchState, { id, listening }: Extract<Action, { kind: 'long-take' }>): BenchState {
  const { listenings, sitting } = state.live.long;
  if (sitting !== null || state.live.blind !== null) return state;
  const known = listenings.find((kept) => kept.id === id);
  const shown = withLive(state, { shelf: 'listening' });
  if (known && (known.listening.ended !== null || known.listening.sittings.length > listening.sittings.length)) return shown;
  return withLong(shown, { listenings: [{ id, listening }, ...listenings.filter((kept) => kept !== known)] });
}

function open(state: BenchState, id: string): BenchState {
  const { setting, session, live } = state;
  const kept = live.long.listenings.find((each) => each.id === id);
  if (!kept || live.long.sitting !== null || live.blind !== null || !goesOn(kept) || openingHindrance(state, kept.listening) !== null) return state;
  const { onTrial, pair, drafts, loop, region, openStageKey } = session;
  const sitting: Sitting = {
    id, phase: 'ready', began: null, heardSeconds: 0, toTheEnd: false, leaving: false, concealment: { kind: 'asked' }, aside: { setting, session: { onTrial, pair, drafts, loop, region, openStageKey }, trialIn: live.trialIn },
  };
  const { compared } = kept.listening;
  const placed = withBench(state, onBench(compared, drafts));
  return withLive(placed, { long: { ...live.long, sitting }, wholePage: 'sitting', shelf: null, playing: false, tonePlaying: false, toneAsked: null, ticket: null });
}

/** Another sitting is planned. */
export function goesOn({ listening: { ended, sittings, plan: { pairs } } }: KeptListening): boolean {
  return ended === null && sittings.length < 2 * pairs;
}

/** Of a pair the second side is lent as a draft. */
function onBench(compared: Compared, drafts: Drafts): SetAside {
  const { setting } = compared.setting;
  const second = compared.secondSetting;
  return {
    setting, trialIn: true,
    session: {
      onTrial: trialOf(compared), pair: second && { in: 'bench', out: 'II' }, drafts: second ? { ...drafts, II: { setting: second.setting, laidDown: '' } } : drafts,
      loop: compared.programme?.identifier ?? '', region: compared.region, openStageKey: setting.path.stages[0]?.key ?? '',
    },
  };
}

/** Another setting, programme and thing on trial, past the history: it is only lent. Nothing that was computed of the one before belongs to it. */
function withBench(state: BenchState, { setting, session, trialIn }: SetAside): BenchState {
  const changed = withStaleMatch(withSession({ ...withPath(state, setting.path), setting }, session));
  return withLive(changed, { trialIn, refusals: {}, gestureMarks: null, reports: {}, jointLevelsDbu: {}, headroom: null, supplied: null, interfaced: null });
}

function log(state: BenchState, sitting: Sitting, { log: written, date }: Extract<Action, { kind: 'sitting-log' }>): BenchState {
  const { began, heardSeconds, toTheEnd } = sitting;
  const entry = { began: began!, heardSeconds: Math.round(10 * heardSeconds) / 10, toTheEnd, ...written, words: written.words.slice(0, longestWords) };
  requireSittingLog(entry);
  return close(withListening(state, sitting.id, (listening) => {
    const sittings = [...listening.sittings, entry];
    return { ...listening, sittings, ended: sittings.length === 2 * listening.plan.pairs ? date : null };
  }), sitting);
}

/** The bench as it was. */
function close(state: BenchState, { aside }: Sitting): BenchState {
  const restored = withBench(state, aside);
  return withLive(restored, { long: { ...state.live.long, sitting: null }, wholePage: null, shelf: 'listening', playing: false });
}

function withLong(state: BenchState, change: Partial<LongState>): BenchState {
  return withLive(state, { long: { ...state.live.long, ...change } });
}

function withSitting(state: BenchState, sitting: Sitting, change: Partial<Sitting>): BenchState {
  return withLong(state, { sitting: { ...sitting, ...change } });
}

function withListening(state: BenchState, id: string, change: (listening: LongListening) => LongListening): BenchState {
  return withLong(state, { listenings: state.live.long.listenings.map((kept) => (kept.id === id ? { id, listening: change(kept.listening) } : kept)) });
}
