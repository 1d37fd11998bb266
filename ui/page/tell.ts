/** What the bench says in words: the state (T), the harmonics (H), and what undo brought back. Pure. */
import { pathMechanisms, speakQuantity, writeQuantity } from '../../dsp/path/index.ts';
import type { Setting } from '../../dsp/setting/index.ts';
import { stageById } from '../../dsp/stages/index.ts';
import type { Parameter } from '../../dsp/stages/index.ts';
import { judgeOrder } from '../../dsp/measure/index.ts';
import type { Subject } from './history.ts';
import { liveMatchWords } from './live-input-words.ts';
import { differenceSounds, raiseInForce, raiseWords } from './reduce-difference.ts';
import { sideWords } from './pair.ts';
import { isSheetKey, sheets, tableOf, valuesOf } from './sheets.ts';
import type { BenchState, MatchState } from './state.ts';

/** "2 push-pull", as the path strip names it; of a sheet its name. */
export function stageName(setting: Setting, key: string): string {
  if (isSheetKey(key)) return sheets[key].shortTitle;
  const index = setting.path.stages.findIndex((stage) => stage.key === key);
  const stage = setting.path.stages[index];
  return stage ? `${index + 1} ${stageById(stage.stage).shortTitle}` : 'no stage';
}

/** "crossover of the output pair of stage 2"; of one that the stage does not have, its identifier. */
export function mechanismName(setting: Setting, key: string, id: string): string {
  const found = pathMechanisms(setting.path).find((one) => one.key === key && one.mechanism.id === id);
  const index = setting.path.stages.findIndex((stage) => stage.key === key);
  return `${found?.mechanism.label ?? id} of stage ${index + 1}`;
}

/** What the first side is called. */
export function inName({ session: { pair } }: BenchState): string {
  return pair === null ? 'in circuit' : sideWords(pair.in);
}

/** What the other side is called: with a mechanism on trial the path goes on playing, without it. */
export function outName({ session: { onTrial, pair } }: BenchState): string {
  if (pair !== null) return sideWords(pair.out);
  return onTrial.kind === 'without' ? 'without it' : 'out of circuit';
}

export function trialName(state: BenchState): string {
  const { onTrial, pair } = state.session;
  if (pair !== null) return `${sideWords(pair.in)} against ${sideWords(pair.out)}`;
  switch (onTrial.kind) {
    case 'path': return 'whole path';
    case 'stage': return stageName(state.setting, onTrial.key);
    case 'without': return `whole path, without ${mechanismName(state.setting, onTrial.key, onTrial.mechanism)}`;
  }
}

/** The five states of the match, in words for the ear. */
export function tellMatch(match: MatchState): string {
  switch (match.kind) {
    case 'off': return 'match off';
    case 'stale': return 'match stale since a change';
    case 'measuring': return 'measuring the match';
    case 'cannot-match': return `cannot match, ${match.why}`;
    case 'matched': {
      const waits = match.waitsForSwitch ? ', waits for the next switch' : '';
      return `matched, ${Math.abs(match.residualDb).toFixed(2)} decibel left${waits}`;
    }
  }
}

export function tellState(state: BenchState): string {
  const { live } = state;
  const heard = live.tonePlaying ? `${live.tone?.kind === 'noise' ? 'reference noise' : 'tone'} playing` : live.playing ? '' : 'silent';
  return [
    live.trialIn ? inName(state) : outName(state),
    `${trialName(state)} on trial`,
    ...(differenceSounds(state) ? [`its difference is heard, ${raiseWords(raiseInForce(live.difference))}`] : []),
    ...(live.input.sounding ? ['live input'] : []),
    liveMatchWords(state)?.heading ?? tellMatch(live.match),
    `monitor ${speakDb(live.monitorDb)}`,
    heard,
  ].filter((part) => part !== '').join(', ');
}

export function tellHarmonics(state: BenchState): string {
  const { harmonics, revision } = state.live;
  if (!harmonics) return 'no harmonics measured yet';
  if (harmonics.refusal !== null) return harmonics.refusal;
  const figures = harmonics.figures.map(({ order, db, underNoise }) => `H${order} ${Number.isFinite(db) ? speakDb(db) : 'under minus 160'}${underNoise ? ' in noise' : ''}`);
  const harsh = harmonics.figures.filter(({ order, db }) => judgeOrder(order).judgement === 'harsh' && Number.isFinite(db));
  const worst = harsh.reduce<(typeof harsh)[number] | null>((most, figure) => (!most || figure.db > most.db ? figure : most), null);
  return [
    ...(harmonics.revision < revision ? ['updating'] : []),
    ...figures,
    worst ? `worst harsh H${worst.order}` : 'no harsh order above the floor',
    `${harmonics.scope === 'path' ? 'whole path' : 'this stage alone'}, ${speakQuantity(harmonics.frequencyHz, 'frequency', 'Hz')} at ${speakQuantity(harmonics.levelDbu, 'level', 'dBu')}`,
  ].join(', ');
}

/** "RC 4.7 kilohm" */
export function tellValue(parameter: Parameter, value: number | string | undefined): string {
  const name = parameter.designator ?? parameter.label;
  if (parameter.kind === 'choice') return `${name} ${parameter.options.find(({ id }) => id === value)?.label ?? String(value)}`;
  return `${name} ${speakQuantity(Number(value), parameter.quantity, parameter.unit)}`;
}

/** What undo or redo brought, as the setting now stands. */
export function tellSubject(subject: Subject, setting: Setting): string {
  switch (subject.kind) {
    case 'value': {
      const parameter = tableOf(setting.path, subject.stageKey)?.parameters.find(({ id }) => id === subject.parameter);
      const values = valuesOf(setting.path, subject.stageKey);
      return values && parameter ? tellValue(parameter, values[parameter.id]) : 'a value';
    }
    case 'stage': {
      const stage = setting.path.stages.find(({ key }) => key === subject.stageKey);
      if (!stage) return 'a stage';
      return `${stageName(setting, stage.key)} ${stage.inCircuit ? 'in' : 'out of'} circuit${stage.reversed ? ', polarity reversed' : ''}`;
    }
    case 'joint': {
      const stage = setting.path.stages.find(({ key }) => key === subject.stageKey);
      return stage ? `${stageName(setting, stage.key)} ${stage.joined ? 'joined to the stage before' : 'not joined on request'}` : 'a joint';
    }
    case 'sheet':
      return `${sheets[subject.sheet].shortTitle} ${setting.path[subject.sheet] === null ? 'off' : 'on'}`;
    case 'order':
      return `path ${setting.path.stages.map(({ stage }) => stageById(stage).shortTitle).join(', ')}`;
    case 'calibration':
      return `full scale ${speakQuantity(setting.path.fullScaleDbu, 'level', 'dBu')}`;
    case 'rate':
      return `${writeQuantity(setting.baseRateHz, 'frequency', 'Hz')} times ${setting.path.oversamplingFactor}, ${setting.path.ladder}`;
    case 'title':
      return `name ${setting.title}`;
    case 'notes':
      return setting.notes.length === 1 ? '1 note' : `${setting.notes.length} notes`;
    case 'setting':
      return `setting ${setting.title}`;
  }
}

/** "minus 20", "0", "minus 62.1" */
function speakDb(db: number): string {
  const rounded = Math.round(db * 10) / 10;
  return rounded < 0 ? `minus ${-rounded}` : `${rounded}`;
}
