/** Own material, the part of it that is looked at, its trim, and the rate that follows the programme. Pure. */
import { withLive, withSession, withStaleMatch } from './changes.ts';
import type { MaterialState, RememberedUse, Stretch } from './material-state.ts';
import type { Action, BenchState, ProgrammeFacts } from './state.ts';

export const openingMaterial: MaterialState = { known: [], reading: null, view: null, trimDb: null, regionPeakDbfs: null, deviceHz: null };

/** A trim lowers by no more. */
export const mostTrimDb = 40;

export function reduceMaterial(state: BenchState, action: Action, loopBefore: string): BenchState {
  const { material } = state.live;
  switch (action.kind) {
    case 'loop':
      return action.loop === loopBefore ? state : withUse(state, action.remembered);
    case 'region':
      // The peak was of another one.
      return withMaterial(state, { regionPeakDbfs: null, known: used(state, { region: state.session.region }) });
    case 'loop-view':
      return withMaterial(state, { view: acceptedView(action.view, state.live.programme) });
    case 'trim':
      return action.trimDb <= 0 && action.trimDb >= -mostTrimDb ? withStaleMatch(withMaterial(state, { trimDb: action.trimDb, known: used(state, { trimDb: action.trimDb }) })) : state;
    case 'material-reading':
      return withMaterial(state, { reading: action.reading });
    case 'stop-reading':
      return withMaterial(state, { reading: null });
    case 'materials':
      return withMaterial(state, { known: action.known });
    case 'region-peak':
      return withMaterial(state, { regionPeakDbfs: action.peakDbfs });
    case 'output-device':
      return material.deviceHz === action.deviceHz ? state : withMaterial(state, { deviceHz: action.deviceHz });
    case 'programme':
      return withProgramme(state, action.programme);
    default:
      return state;
  }
}

function withMaterial(state: BenchState, change: Partial<MaterialState>): BenchState {
  return withLive(state, { material: { ...state.live.material, ...change } });
}

/** Another loop is chosen: used as asked, an own file else as it was left. */
function withUse(state: BenchState, given?: RememberedUse): BenchState {
  const use = given ?? state.live.material.known.find(({ id }) => id === state.session.loop);
  const changed = withMaterial(state, { view: null, regionPeakDbfs: null, trimDb: use?.trimDb ?? null });
  return use?.region ? withSession(changed, { region: use.region }) : changed;
}

/** What is known, with what was just chosen of the file on the bench. */
function used({ session, live: { material } }: BenchState, use: Partial<RememberedUse>): MaterialState['known'] {
  return material.known.some(({ id }) => id === session.loop) ? material.known.map((file) => (file.id === session.loop ? { ...file, ...use } : file)) : material.known;
}

/** At another rate everything is planned and measured anew; the rules that were chosen are those of the rate before. */
function withProgramme(state: BenchState, programme: ProgrammeFacts): BenchState {
  const { baseRateHz, revision } = state.live;
  if (programme.rateHz === baseRateHz) return withLive(state, { programme });
  return withSettingAtRate(withStaleMatch(withLive(state, { programme, baseRateHz: programme.rateHz, revision: revision + 1 })));
}

/** A setting on the bench is one of the rate that it plays at. */
export function withSettingAtRate(state: BenchState): BenchState {
  const { baseRateHz } = state.live;
  return state.setting.baseRateHz === baseRateHz ? state : { ...state, setting: { ...state.setting, baseRateHz, rules: null } };
}

/** Null: as good as all of it, or nothing of it. */
function acceptedView(view: Stretch | null, programme: ProgrammeFacts | null): Stretch | null {
  if (view === null || programme === null) return null;
  const seconds = programme.frames / programme.rateHz;
  const shortest = Math.min(seconds, shortestViewFrames / programme.rateHz);
  const length = Math.min(seconds, Math.max(shortest, view.endSeconds - view.startSeconds));
  if (!(length < seconds)) return null;
  const startSeconds = Math.min(seconds - length, Math.max(0, view.startSeconds));
  return { startSeconds, endSeconds: startSeconds + length };
}

/** What is looked at is at least so long: some columns a frame. */
const shortestViewFrames = 60;
