/** Changes between two paths, and between what was measured of them, in words and columns. */
import { headingOf, writeValue } from '../path/index.ts';
import { stageById } from '../stages/index.ts';
import { sheetDefinitions } from './changes.ts';
import type { ChangePlace, PathChange } from './changes.ts';
import type { Measurement } from './contract.ts';
import { lowestMeasuredDb } from './heard.ts';

/** One line of a history: "2 push-pull IQ", "2 mA", "12 mA". */
export interface ChangeLine {
  readonly what: string;
  readonly was: string;
  readonly now: string;
}

export function changeLine(change: PathChange): ChangeLine {
  switch (change.kind) {
    case 'stage-added': return { what: stageWords(change), was: 'not there', now: 'added' };
    case 'stage-removed': return { what: stageWords(change), was: 'there', now: 'removed' };
    case 'stage-moved': return { what: stageById(change.stage).shortTitle, was: `place ${change.fromIndex + 1}`, now: `place ${change.index + 1}` };
    case 'value': return { what: `${placeWords(change.place)} ${headingOf(change.parameter)}`, was: writeValue(change.was, change.parameter), now: writeValue(change.now, change.parameter) };
    case 'in-circuit': return either(stageWords(change), change.now, 'out of circuit', 'in circuit');
    case 'reversed': return either(`${stageWords(change)} polarity`, change.now, 'as built', 'reversed');
    case 'joined': return either(`${stageWords(change)} joint`, change.now, 'as the probe says', 'joined on request');
    case 'sheet': return either(sheetDefinitions[change.sheet].shortTitle, change.now, 'off', 'on');
    case 'full-scale': return { what: '0 dBFS', was: `+${change.was} dBu`, now: `+${change.now} dBu` };
    case 'factor': return { what: 'rate', was: `× ${change.was}`, now: `× ${change.now}` };
    case 'ladder': return { what: 'ladder', was: change.was.replace('-', ' '), now: change.now.replace('-', ' ') };
  }
}

/** "2 push-pull IQ: was 2 mA, now 12 mA" */
export function lineWords({ what, was, now }: ChangeLine): string {
  return `${what}: was ${was}, now ${now}`;
}

function either(what: string, now: boolean, without: string, withIt: string): ChangeLine {
  return { what, was: now ? without : withIt, now: now ? withIt : without };
}

function stageWords({ index, stage }: { readonly index: number; readonly stage: string }): string {
  return `${index + 1} ${stageById(stage).shortTitle}`;
}

function placeWords(place: ChangePlace): string {
  return place.kind === 'stage' ? stageWords(place) : sheetDefinitions[place.sheet].shortTitle;
}

/** One order before and after, dB re the fundamental; null: nothing above the floor. */
export interface OrderChange {
  readonly order: number;
  readonly wasDb: number | null;
  readonly nowDb: number | null;
}

/** Below this a level is the noise of the numbers and no finding. */
export const measurementFloorDb = -140;

/** Order by order, those under the floor both times left out; null where the two were not measured with the same tone. */
export function orderChanges(was: Measurement | null, now: Measurement | null): OrderChange[] | null {
  if (!was || !now || was.levelDbu !== now.levelDbu || !(Math.abs(was.frequencyHz / now.frequencyHz - 1) <= sameTone)) return null;
  return now.orders.flatMap(({ order, db }) => {
    const before = was.orders.find((other) => other.order === order);
    const change = { order, wasDb: aboveFloor(before?.db ?? lowestMeasuredDb), nowDb: aboveFloor(db) };
    return before === undefined || (change.wasDb === null && change.nowDb === null) ? [] : [change];
  });
}

/** A tone asked for is measured at the nearest frequency that has whole periods in the samples: within so much. */
const sameTone = 1 / 64;

function aboveFloor(db: number): number | null {
  return db < measurementFloorDb ? null : db;
}

/** "−62.1 dB", "under the floor" */
export function orderLevelWords(db: number | null): string {
  return db === null ? 'under the floor' : `${db < 0 ? '−' : ''}${Math.abs(db).toFixed(1)} dB`;
}

/** What the tone's own level and every order differ by between two measurements of one setting, dB; the largest, orders under the floor in both left out. */
export function largestMovementDb(stored: Measurement, measured: Measurement): number {
  const orders = stored.orders.map(({ order, db }) => {
    const now = measured.orders.find((other) => other.order === order)?.db ?? lowestMeasuredDb;
    return db < measurementFloorDb && now < measurementFloorDb ? 0 : Math.abs(now - db);
  });
  return Math.max(Math.abs(stored.fundamentalDbu - measured.fundamentalDbu), ...orders);
}
