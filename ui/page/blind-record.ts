/** A blind comparison as a file: what was compared, exactly; every trial; the result. */
import { settingTextSha256, writeSetting } from '../../dsp/setting/index.ts';
import type { BlindRecord } from '../../worklets/workers/blind.ts';
import type { BenchState } from './state.ts';
import { outName, trialName } from './tell.ts';

const format = 'stagebench/blind-comparison';

/** `date`: of the day, ISO. */
export function writeBlindRecord(state: BenchState, record: BlindRecord, date: string): string {
  const { setting, session, live } = state;
  const text = writeSetting(setting);
  const { match } = live;
  return `${JSON.stringify({
    format, version: 1, date,
    compared: { what: trialName(state), side0: 'in circuit', side1: outName(state), onTrial: session.onTrial },
    settingSha256: settingTextSha256(text),
    programme: { loop: session.loop, region: session.region },
    levelMatch: match.kind === 'matched' ? { inGainDb: match.inGainDb, outGainDb: match.outGainDb, residualDb: match.residualDb } : null,
    plan: record.plan, stopped: record.stopped, result: record.result, trials: record.trials,
    setting: JSON.parse(text) as unknown,
  }, null, 2)}\n`;
}
