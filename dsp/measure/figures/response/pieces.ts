/** What a figure's subject is made of, from source to load, for figures of small signals. */
import type { CircuitDocument } from '../../../circuit/index.ts';
import { plannedCircuit, type PlannedStage } from '../../../path/index.ts';
import { analogueTransfer, inSeries, runningTransfer, type TransferAt } from '../../path-response.ts';
import type { FigureSubject } from '../contract.ts';
import { plannedIndex } from '../tone.ts';

/** One thing that runs. */
export interface Piece {
  readonly planned: PlannedStage;
  /** Its analogue circuit; null for what is none, or where the program alone is known. */
  readonly document: CircuitDocument | null;
}

/** Of the scope: all that runs, or the one thing that has the stage in it. Throws RangeError where that is not in circuit. */
export function piecesOf(subject: FigureSubject): readonly Piece[] {
  const { plan, path } = subject;
  const target = plannedIndex(subject);
  return (target < 0 ? plan.stages : [plan.stages[target]!]).map((planned) => ({ planned, document: path === null ? subject.document ?? null : plannedCircuit(path, planned) }));
}

const signOf = ({ reversed }: PlannedStage): 1 | -1 => (reversed ? -1 : 1);

/** Of the analogue circuits, one behind the other; null where one of them is not known. Finds the operating points, one a step. Throws CircuitError. */
export function* analogueOf({ path }: FigureSubject, pieces: readonly Piece[]): Generator<undefined, TransferAt | null> {
  if (pieces.some(({ planned, document }) => planned.wired.program.kind === 'circuit' && document === null)) return null;
  const transfers: { readonly transfer: TransferAt; readonly sign: 1 | -1 }[] = [];
  for (const { planned, document } of pieces) {
    transfers.push({ transfer: analogueTransfer(path, planned, document), sign: signOf(planned) });
    yield undefined;
  }
  return inSeries(transfers);
}

/** Of what runs at the internal rate. */
export function runningOf(pieces: readonly Piece[]): TransferAt {
  return inSeries(pieces.map(({ planned }) => ({ transfer: runningTransfer(planned), sign: signOf(planned) })));
}
