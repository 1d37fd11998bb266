/** Calibration of the playback chain, and exposure added up behind it. Pure. */
import { dailyShare, playedLevelDba, rollingWeekShare, withExposure } from '../../dsp/listening/index.ts';
import { withLive, withMessage } from './changes.ts';
import type { HearingState, HeardSums, PassedHalves } from './hearing-state.ts';
import { passedWords, readReading } from './hearing-words.ts';
import type { Action, BenchState } from './state.ts';

/** The reading of the noise is a mean over at least this long: it then scatters by about 0.1 dB. */
const settledSeconds = 2;
/** Sighted, the audio thread tells once a second. */
const longestShownSeconds = 2;

export const openingHearing: HearingState = {
  listener: 'adults', equipment: 'loudspeakers', calibration: null, lastTime: null, reference: null, refusal: null, days: [], heardDba: null,
  passed: { day: '', ofDay: 0, ofWeek: 0 }, untold: null,
};

/** @param today ISO date */
export function reduceHearing(state: BenchState, action: Action, today: string): BenchState {
  return told(step(state, action, today));
}

function step(state: BenchState, action: Action, today: string): BenchState {
  const { hearing } = state.live;
  switch (action.kind) {
    case 'hearing-restored': {
      const { days, lastTime, listener } = action;
      const restored = { ...hearing, days: [...days].sort((a, b) => (a.day < b.day ? -1 : 1)), lastTime, listener };
      // What was passed before this visit was told then.
      return withHearing(state, { ...restored, passed: passedOf(restored, today) });
    }
    case 'hearing-listener': {
      const chosen = { ...hearing, listener: action.listener };
      return withHearing(state, { ...chosen, passed: passedOf(chosen, today) });
    }
    case 'hearing-equipment':
      return action.equipment === hearing.equipment ? state : withHearing(state, { equipment: action.equipment, calibration: null, heardDba: null, refusal: null });
    case 'ask-noise':
      return withHearing(withLive(state, { toneAsked: { kind: 'noise' } }), { refusal: null });
    case 'consent-tone': case 'monitor': case 'play':
      return withHearing(state, { reference: null });
    case 'calibrate-playback':
      return calibrate(state, action.text, today);
    case 'drop-calibration':
      return withMessage(withHearing(state, { calibration: null, heardDba: null, lastTime: hearing.calibration ?? hearing.lastTime }), 'Calibration dropped: nothing is estimated until the next one.');
    case 'heard':
      return heard(state, action, today);
    default:
      return state;
  }
}

/** The noise of the reference sounds. */
export function noisePlays({ live }: BenchState): boolean {
  return live.tonePlaying && live.tone?.kind === 'noise';
}

function calibrate(state: BenchState, text: string, today: string): BenchState {
  const { hearing, monitorDb } = state.live;
  const levelDba = readReading(text);
  if (typeof levelDba === 'string') return withHearing(state, { refusal: levelDba });
  if (!noisePlays(state)) return withHearing(state, { refusal: 'The noise does not play: press Play the noise, read the meter, then enter what it reads.' });
  const { reference, equipment } = hearing;
  if (reference === null || reference.seconds < settledSeconds) return withHearing(state, { refusal: 'The noise has not played for long enough at this level: read the meter again, then enter what it reads.' });
  const calibration = { levelDba, meanSquare: meanSquareOf(reference, equipment), equipment, monitorDb, day: today };
  const done = withHearing(withLive(state, { tonePlaying: false }), { calibration, reference: null, refusal: null, heardDba: null, passed: passedOf(hearing, today) });
  return withMessage(done, `Calibrated at ${Number(levelDba.toFixed(1))} dB(A). What is heard from here on is added up.`);
}

function heard(state: BenchState, sums: HeardSums, today: string): BenchState {
  const { hearing } = state.live;
  const { calibration, days } = hearing;
  const reference = noisePlays(state) ? withReference(hearing.reference, sums) : null;
  if (calibration === null) return withHearing(state, { reference });
  const meanSquare = meanSquareOf(sums, calibration.equipment);
  if (!(meanSquare > 0)) return withHearing(state, { reference });
  const levelDba = playedLevelDba(calibration, meanSquare);
  const added = { ...hearing, reference, heardDba: concealed(state, sums) ? null : levelDba, days: withExposure(days, today, levelDba, sums.seconds) };
  const passed = passedOf(added, today);
  const before = hearing.passed.day === today ? hearing.passed : passedOf(hearing, today);
  return withHearing(state, { ...added, passed, untold: passedWords(before, passed) ?? hearing.untold });
}

/** Two sides matched in loudness may differ in A-weighted level: of blind work, which is told as one stretch after its end, and of a sitting no level is shown. */
function concealed({ live }: BenchState, { seconds }: HeardSums): boolean {
  return live.blind !== null || live.long.sitting !== null || seconds > longestShownSeconds;
}

/** The first second after a change still holds the ramp: it opens the sum with nothing. */
function withReference(before: HeardSums | null, { seconds, leftSquareSeconds, rightSquareSeconds }: HeardSums): HeardSums {
  if (before === null) return { seconds: 0, leftSquareSeconds: 0, rightSquareSeconds: 0 };
  return { seconds: before.seconds + seconds, leftSquareSeconds: before.leftSquareSeconds + leftSquareSeconds, rightSquareSeconds: before.rightSquareSeconds + rightSquareSeconds };
}

/** Two loudspeakers add up in the room; of headphones the louder ear counts. Equal channels, as the noise has them, give the same either way. */
function meanSquareOf({ seconds, leftSquareSeconds, rightSquareSeconds }: HeardSums, equipment: HearingState['equipment']): number {
  return (equipment === 'headphones' ? Math.max(leftSquareSeconds, rightSquareSeconds) : (leftSquareSeconds + rightSquareSeconds) / 2) / seconds;
}

function passedOf(hearing: HearingState, today: string): HearingState['passed'] {
  return { day: today, ofDay: halves(dailyShare(hearing.days, today)), ofWeek: halves(rollingWeekShare(hearing.days, today, hearing.listener)) };
}

function halves(share: number): PassedHalves {
  return share >= 1 ? 2 : share >= 0.5 ? 1 : 0;
}

/** Not while something takes the whole page: it would tell of what is compared there, and nobody would see it. */
function told(state: BenchState): BenchState {
  const { hearing, blind, wholePage } = state.live;
  if (hearing.untold === null || blind !== null || wholePage !== null) return state;
  return withMessage(withHearing(state, { untold: null }), hearing.untold);
}

function withHearing(state: BenchState, change: Partial<HearingState>): BenchState {
  return withLive(state, { hearing: { ...state.live.hearing, ...change } });
}
