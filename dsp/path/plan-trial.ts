/** The path without the stage on trial, or without one mechanism, beside the path with it. */
import type { PlannedStage, PlannedTrial } from './plan.ts';
import { withoutMechanism, type TakenAway } from './path-mechanisms.ts';
import { planStages, polarityOf, type StagesNeeds } from './plan-stages.ts';
import type { PathEntry } from './stage-programs.ts';

/**
 * Where `stages`, which have the stage on trial, differ from the path that is wired through in its place, and what runs there without it. Both ways are alike before
 * the fork and again behind the first thing that does not see what it is wired to, or is wired alike. Where the stage on trial inverts, so does what stands in its
 * place: the signal is turned there.
 */
export function planTrial(stages: readonly PlannedStage[], entries: readonly PathEntry[], trial: PathEntry, needs: StagesNeeds): PlannedTrial {
  const remaining = entries.filter((entry) => entry !== trial);
  const plain = planStages(remaining, needs).stages;
  const first = alikeFromStart(stages, plain);
  const before = entries[entries.indexOf(trial) - 1];
  // Turned at the fork where nothing of what runs apart comes before the place; else by the stage before it.
  const turned = polarityOf(trial) < 0;
  const insideFork = before !== undefined && plain.findIndex((planned) => holds(planned, before)) >= first;
  const without = turned && insideFork ? planStages(remaining.map((entry) => (entry === before ? reversed(entry) : entry)), needs).stages : plain;
  const alikeAtEnd = countAlikeAtEnd(stages, without, first);
  const end = stages.length - alikeAtEnd;
  return { first, end, without: without.slice(first, without.length - alikeAtEnd), turned: turned && !insideFork };
}

/**
 * The path without one mechanism, beside the path as it is: what runs by other programs runs twice. Null where nothing does.
 */
export function planWithout(stages: readonly PlannedStage[], entries: readonly PathEntry[], needs: StagesNeeds, taken: TakenAway): PlannedTrial | null {
  const other = withoutMechanism(entries, needs, taken);
  const without = planStages(other.entries, other.needs).stages;
  const alike = (a: PlannedStage, b: PlannedStage): boolean => sameStages(a, b) && a.wired.identity === b.wired.identity;
  let first = 0;
  while (first < stages.length && first < without.length && alike(stages[first]!, without[first]!)) first += 1;
  let last = 0;
  while (last < stages.length - first && last < without.length - first && alike(stages[stages.length - 1 - last]!, without[without.length - 1 - last]!)) last += 1;
  if (first === stages.length && first === without.length) return null;
  return { first, end: stages.length - last, without: without.slice(first, without.length - last), turned: false };
}

const reversed = (entry: PathEntry): PathEntry => ({ ...entry, stage: { ...entry.stage, reversed: !entry.stage.reversed } });

const holds = ({ members }: PlannedStage, { stage }: PathEntry): boolean => members.some(({ key }) => key === stage.key);

const sameStages = (a: PlannedStage, b: PlannedStage): boolean =>
  a.key === b.key && a.loaded === b.loaded && a.members.length === b.members.length && a.members.every(({ key }, k) => key === b.members[k]!.key);

/** Things at the start that have the same stages; the one that holds the stage on trial has not. */
function alikeFromStart(a: readonly PlannedStage[], b: readonly PlannedStage[]): number {
  let count = 0;
  while (count < a.length && count < b.length && sameStages(a[count]!, b[count]!)) count += 1;
  return count;
}

/** Things at the end that run alike: of those with the same stages, not the first, if that is a circuit, for it is wired to something else. */
function countAlikeAtEnd(a: readonly PlannedStage[], b: readonly PlannedStage[], from: number): number {
  let count = 0;
  while (count < a.length - from && count < b.length - from && sameStages(a[a.length - 1 - count]!, b[b.length - 1 - count]!)) count += 1;
  const foremost = a[a.length - count];
  return count > 0 && foremost!.wired.program.kind === 'circuit' ? count - 1 : count;
}
