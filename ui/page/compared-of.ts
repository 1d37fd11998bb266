/** What is on trial on the bench, as records of listening have it. Pure. */
import { freezeSetting, type Compared, type ComparedGains } from '../../dsp/setting/index.ts';
import { programmeOf } from './pins.ts';
import type { BenchState } from './state.ts';
import { outName, trialName } from './tell.ts';

/** The two sides as they stand, under these gains. */
export function comparedOf(state: BenchState, { inGainDb, outGainDb, residualDb }: ComparedGains): Compared {
  const { setting, session, live: { baseRateHz } } = state;
  const { region } = session;
  return {
    what: trialName(state), names: ['in circuit', outName(state)], onTrial: storedTrial(state),
    programme: programmeOf(state),
    region: region && { startSeconds: region.startSeconds, endSeconds: region.endSeconds },
    levelMatch: { inGainDb, outGainDb, residualDb },
    setting: freezeSetting({ ...setting, baseRateHz }), secondSetting: null,
  };
}

/** Stages by their place: files know no keys. */
function storedTrial({ setting, session: { onTrial } }: BenchState): Compared['onTrial'] {
  if (onTrial.kind === 'path') return 'path';
  const stageIndex = setting.path.stages.findIndex(({ key }) => key === onTrial.key);
  return onTrial.kind === 'without' ? { stageIndex, without: onTrial.mechanism } : { stageIndex };
}
