/** What a path is and what is on trial in it, in words for people who were not there. Pure. */
import { hasNoise, hasRipple, pathMechanisms, type OnTrial, type PathSetting } from '../../dsp/path/index.ts';
import { stageById } from '../../dsp/stages/index.ts';

/** "2 Push-pull stage" */
export function stageTitle({ stages }: PathSetting, key: string): string {
  const index = stages.findIndex((stage) => stage.key === key);
  return `${index + 1} ${stageById(stages[index]!.stage).title}`;
}

/** "source, 1 Single-ended stage, bipolar; (2 Push-pull stage, out of circuit); load" */
export function pathLine(path: PathSetting): string {
  const { stages } = path;
  return ['source', ...stages.map(({ key, inCircuit, reversed }) => {
    const title = `${stageTitle(path, key)}${reversed ? ', polarity reversed' : ''}`;
    return inCircuit ? title : `(${title}, out of circuit)`;
  }), 'load'].join('; ');
}

export interface TrialNames {
  /** "the whole path" */
  readonly what: string;
  /** Of the two ways, as buttons say it. */
  readonly in: string;
  readonly out: string;
}

export function trialNames(path: PathSetting, onTrial: OnTrial): TrialNames {
  switch (onTrial.kind) {
    case 'path': return { what: 'the whole path', in: 'In circuit', out: 'Out of circuit' };
    case 'stage': return { what: `stage ${stageTitle(path, onTrial.key)}`, in: 'In circuit', out: 'Out of circuit' };
    case 'without': {
      const found = pathMechanisms(path).find(({ key, mechanism }) => key === onTrial.key && mechanism.id === onTrial.mechanism);
      return { what: `${found?.mechanism.label ?? onTrial.mechanism} of stage ${stageTitle(path, onTrial.key)}`, in: 'As it is', out: 'Without it' };
    }
  }
}

/** What the bench leaves out of a path; each a phrase. */
export function notModelled(path: PathSetting): readonly string[] {
  return [
    'spread and ageing of parts, and their warming up',
    ...(hasNoise(path.supply) ? [] : ['noise (it is switched off)']),
    ...(hasRipple(path.supply) ? [] : ['ripple of the supply (it is switched off)']),
    'a supply that gives way with the signal',
    'what wiring and neighbours pick up or couple, but for what stands in the values',
  ];
}
