/** Rules that the solver chose, as a setting stores them and as they are held against a later choice. */
import type { PathPlan, PathSetting, PlannedProgram, PlannedStage } from '../path/index.ts';
import type { StoredRule } from './contract.ts';
import { greatestRuleErrorDb } from './parse.ts';

/** The rules of a path's stages as it plays, in their order; `plan` is of this path, whatever is on trial in it. Stages solved in one circuit have its rule. */
export function stageRules(path: PathSetting, plan: PathPlan): (StoredRule | null)[] {
  const rules: (StoredRule | null)[] = path.stages.map(() => null);
  for (const { members, wired } of playedStages(path, plan)) for (const { index } of members) rules[index] = ruleOf(wired);
  return rules;
}

/** What is heard: without the stage on trial where it is out of circuit. */
function playedStages(path: PathSetting, { stages, trial, onTrial }: PathPlan): readonly PlannedStage[] {
  const isOut = onTrial.kind === 'stage' && path.stages.some(({ key, inCircuit }) => key === onTrial.key && !inCircuit);
  return trial !== null && isOut ? [...stages.slice(0, trial.first), ...trial.without, ...stages.slice(trial.end)] : stages;
}

function ruleOf({ program }: PlannedProgram): StoredRule | null {
  if (program.kind !== 'circuit' || program.circuit.ruleChoice === null) return null;
  const { rule, ruleChoice: { errorDb } } = program.circuit;
  return { rule, errorDb: errorDb < greatestRuleErrorDb ? errorDb : greatestRuleErrorDb };
}

/** "integrated as T12, error at 10 kHz 0.03 dB" */
export function ruleWords({ rule, errorDb }: StoredRule): string {
  return `integrated as ${rule}, error at 10 kHz ${ruleErrorWords(errorDb)}`;
}

/** "0.03 dB"; "not known" where a circuit has no steady state to judge. */
export function ruleErrorWords(errorDb: number): string {
  if (!(errorDb < greatestRuleErrorDb)) return 'not known';
  return errorDb < 0.001 ? 'under 0.001 dB' : `${errorDb.toFixed(errorDb < 0.01 ? 3 : 2)} dB`;
}

/** One stage whose rule is not the stored one. */
export interface RuleMovement {
  readonly stageIndex: number;
  readonly expected: StoredRule | null;
  readonly chosen: StoredRule | null;
}

/** Where another rule is chosen now than was stored. */
export function compareRules(stored: readonly (StoredRule | null)[], chosen: readonly (StoredRule | null)[]): RuleMovement[] {
  return chosen.flatMap((now, stageIndex) => {
    const expected = stored[stageIndex] ?? null;
    return expected?.rule === now?.rule ? [] : [{ stageIndex, expected, chosen: now }];
  });
}
