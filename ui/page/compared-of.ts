/** What is on trial on the bench, as records of listening have it. Pure. */
import type { OnTrial } from '../../dsp/path/index.ts';
import { freezeSetting, type Compared, type ComparedGains } from '../../dsp/setting/index.ts';
import { pairedSettings } from './pair.ts';
import { programmeOf } from './pins.ts';
import type { BenchState } from './state.ts';
import { inName, outName, trialName } from './tell.ts';

/** The two sides as they stand, under these gains. */
export function comparedOf(state: BenchState, { inGainDb, outGainDb, residualDb }: ComparedGains): Compared {
  const { setting, session, live: { baseRateHz } } = state;
  const [first, second] = pairedSettings(state) ?? [setting, null];
  const { region } = session;
  return {
    what: trialName(state), names: [inName(state), outName(state)], onTrial: storedTrial(state),
    programme: programmeOf(state),
    region: region && { startSeconds: region.startSeconds, endSeconds: region.endSeconds },
    levelMatch: { inGainDb, outGainDb, residualDb },
    setting: freezeSetting({ ...first, baseRateHz }), secondSetting: second && freezeSetting({ ...second, baseRateHz }),
  };
}

/** What is on trial where the setting of such a record lies on the bench. */
export function trialOf({ onTrial, setting: { setting } }: Compared): OnTrial {
  if (onTrial === 'path' || onTrial === 'pair') return { kind: 'path' };
  const { key } = setting.path.stages[onTrial.stageIndex]!;
  return onTrial.without === undefined ? { kind: 'stage', key } : { kind: 'without', key, mechanism: onTrial.without };
}

/** Stages by their place: files know no keys. */
function storedTrial({ setting, session: { onTrial, pair } }: BenchState): Compared['onTrial'] {
  if (pair !== null) return 'pair';
  if (onTrial.kind === 'path') return 'path';
  const stageIndex = setting.path.stages.findIndex(({ key }) => key === onTrial.key);
  return onTrial.kind === 'without' ? { stageIndex, without: onTrial.mechanism } : { stageIndex };
}
