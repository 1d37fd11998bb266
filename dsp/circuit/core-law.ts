/**
 * A winding on a saturable core with memory: its current at a flux λ (volt-seconds), and how its memory moves on.
 *
 * Small loops follow Rayleigh's law (Lord Rayleigh, "On the behaviour of iron and steel under the operation of feeble magnetic forces", 1887; R. M. Bozorth, "Ferromagnetism", 1951, ch. 11; both
 * from memory), written in flux and current: from a reversal (λr, ir) the branch is |λ − λr| = L0 |i − ir| + (ν/2)(i − ir)², from the demagnetised core |λ| = L0 |i| + ν i². Nested loops close where
 * they were left and are then forgotten (Madelung's rules, 1905): what is remembered is the list of reversals that no later flux has passed, each nested in the one before. Solved for the current,
 * with D = λ − λr: i = ir + 2 D / (L0 + √(L0² + 2 ν |D|)), from the demagnetised core 4 ν in place of 2 ν.
 *
 * Added to that at the same flux: a saturating current that depends on flux alone, i = (L0-slope) x⁹ with x = λ/λs, whose slope is ten times 1/L0 at λs and stays at a thousand times 1/L0 (an air
 * core's) from 1.78 λs on (a power of flux is common practice for transformer cores, no source for ninth and ten; at a third of λs it is 1/2000 of the slope); and λ/Lgap of an air gap, whose
 * magnetomotive force adds to the core's. All three rise monotonically, with continuous first derivatives but at a reversal, where the law itself has its corner.
 *
 * Reached from the audio callback: nothing here allocates, throws or waits.
 */
import type { Core } from './components.ts';

/** Reversals remembered. Where more are nested (a tone that has died away for 64 cycles), the pair is left out whose loss changes the current least. */
export const coreReversals = 128;

/**
 * A core's memory, numbers from its place on: the branch on which the flux moves (where it began, in flux and current, and 2 ν or 4 ν), its direction ±1, how far it has come, where it closes a loop,
 * and the number of reversals; then their fluxes and currents, oldest first, with room for one more. The present branch begins at the last of them.
 */
export const coreHead = { from: 0, fromAmperes: 1, bend: 2, direction: 3, last: 4, limit: 5, count: 6 } as const;
export const coreHeadLength = 7;
export const coreStackLength = 2 * (coreReversals + 1);
export const coreHistoryLength = coreHeadLength + coreStackLength;

/** Places of a core's parameters. */
export const coreParameter = {
  inductance: 0, inductanceSquared: 1, bend: 2, initialBend: 3, perGap: 4, perSaturation: 5, saturationAmperes: 6, saturationSlope: 7,
  straightFlux: 8, straightAmperes: 9, straightSlope: 10, deadband: 11,
} as const;

/** Slope of the saturating current at λs, and the most it becomes, over 1/L0. */
const slopeAtSaturation = 10;
const straightSlopeShare = 1000;
/** (1000/10)^(1/8). */
const straightAt = 1.7782794100389228;
/** Reversals that come back by less than this part of the flux at which the law bends are followed, but not remembered: what they leave is 1e-12 of it. */
const deadbandShare = 1e-6;

/** Flux in which the law bends or saturates, whichever comes first; of a winding that does neither, that of 1 mA. */
export function coreFluxScale({ inductanceHenries: l, rayleighHenriesPerAmpere: nu, saturationVoltSeconds: saturation }: Core): number {
  const bend = nu > 0 ? (l * l) / nu : Infinity;
  const scale = Math.min(bend, saturation ?? Infinity);
  return scale < Infinity ? scale : 1e-3 * l;
}

/** In the order of `coreParameter`. */
export function coreParameters(core: Core): number[] {
  const { inductanceHenries: l, rayleighHenriesPerAmpere: nu, saturationVoltSeconds: saturation, gapHenries } = core;
  const slope = saturation === null ? 0 : slopeAtSaturation / l;
  const amperes = saturation === null ? 0 : (slope * saturation) / 9;
  return [
    l, l * l, 2 * nu, 4 * nu, gapHenries === null ? 0 : 1 / gapHenries, saturation === null ? 0 : 1 / saturation, amperes, slope,
    saturation === null ? Infinity : straightAt * saturation, (amperes * straightAt * straightSlopeShare) / slopeAtSaturation, (slope * straightSlopeShare) / slopeAtSaturation,
    deadbandShare * coreFluxScale(core),
  ];
}

/** A core that was demagnetised and then brought to flux `last` on the initial curve. */
export function startCore(parameters: Float64Array, at: number, history: Float64Array, place: number, last: number): void {
  const direction = last < 0 ? -1 : 1;
  history[place + coreHead.from] = 0;
  history[place + coreHead.fromAmperes] = 0;
  history[place + coreHead.bend] = parameters[at + coreParameter.initialBend]!;
  history[place + coreHead.direction] = direction;
  history[place + coreHead.last] = last;
  history[place + coreHead.limit] = direction * Infinity;
  history[place + coreHead.count] = 0;
}

/** Where the reversal with that number (from 1) stands in a memory at `place`. */
function reversalAt(place: number, number: number): number {
  return place + coreHeadLength + 2 * (number - 1);
}

// From here on fluxes and currents are handed over in arrays: as arguments or results the engine may put them on the heap, several a step.

/** Current of the reversal whose flux stands at `slot`, after it: on the branch from `history[from]`, `history[fromAmperes]`, whose 2 ν or 4 ν is `bend[bendAt]`. */
function writeCurrent(parameters: Float64Array, at: number, history: Float64Array, slot: number, from: number, fromAmperes: number, bend: Float64Array, bendAt: number): void {
  const beyond = history[slot]! - history[from]!;
  const root = Math.sqrt(parameters[at + coreParameter.inductanceSquared]! + bend[bendAt]! * Math.abs(beyond));
  history[slot + 1] = history[fromAmperes]! + (2 * beyond) / (parameters[at + coreParameter.inductance]! + root);
}

/** The flux reached as the reversal after the last: only a guess while Newton looks back. */
function noteReversal(parameters: Float64Array, at: number, history: Float64Array, place: number): number {
  const number = history[place + coreHead.count]! + 1;
  const slot = reversalAt(place, number);
  history[slot] = history[place + coreHead.last]!;
  writeCurrent(parameters, at, history, slot, place + coreHead.from, place + coreHead.fromAmperes, history, place + coreHead.bend);
  return number;
}

/**
 * Number of the reversal whose branch the flux `fluxes[fluxAt]` is on, moving in `direction` away from the one numbered `number`; 0: on the initial curve. A loop is passed where the flux goes beyond
 * the reversal before, the outermost where it goes beyond the mirror image of the first.
 */
function closeLoops(history: Float64Array, place: number, number: number, direction: number, fluxes: Float64Array, fluxAt: number): number {
  const flux = fluxes[fluxAt]!;
  let open = number;
  while (open > 0) {
    const limit = open === 1 ? -history[reversalAt(place, 1)]! : history[reversalAt(place, open - 1)]!;
    if (!(direction * (flux - limit) > 0)) break;
    open = open === 1 ? 0 : open - 2;
  }
  return open;
}

/**
 * Current (A) and slope (A/Vs) of the core whose parameters lie at `at`, at flux `v[vAt]`, against the memory at `place` of `history`; without a history, on the initial curve.
 */
export function coreLaw(
  parameters: Float64Array, at: number, history: Float64Array | null, place: number,
  v: Float64Array, vAt: number, i: Float64Array, iAt: number, jacobian: Float64Array, jAt: number,
): void {
  const flux = v[vAt]!;
  let from = 0;
  let fromAmperes = 0;
  let bend = parameters[at + coreParameter.initialBend]!;
  if (history !== null) {
    const direction = history[place + coreHead.direction]!;
    const forward = direction * (flux - history[place + coreHead.last]!) >= 0;
    if (forward && direction * (flux - history[place + coreHead.limit]!) <= 0) {
      from = history[place + coreHead.from]!;
      fromAmperes = history[place + coreHead.fromAmperes]!;
      bend = history[place + coreHead.bend]!;
    } else {
      const number = forward ? history[place + coreHead.count]! : noteReversal(parameters, at, history, place);
      const open = closeLoops(history, place, number, forward ? direction : -direction, v, vAt);
      if (open > 0) {
        const slot = reversalAt(place, open);
        from = history[slot]!;
        fromAmperes = history[slot + 1]!;
        bend = parameters[at + coreParameter.bend]!;
      }
    }
  }
  const beyond = flux - from;
  const root = Math.sqrt(parameters[at + coreParameter.inductanceSquared]! + bend * Math.abs(beyond));
  const along = fromAmperes + (2 * beyond) / (parameters[at + coreParameter.inductance]! + root);
  const share = flux * parameters[at + coreParameter.perSaturation]!;
  const squared = share * share;
  const fourth = squared * squared;
  const eighth = fourth * fourth;
  let saturating = parameters[at + coreParameter.saturationAmperes]! * eighth * share;
  let saturatingSlope = parameters[at + coreParameter.saturationSlope]! * eighth;
  const size = Math.abs(flux);
  const straight = parameters[at + coreParameter.straightFlux]!;
  if (size > straight) {
    const further = parameters[at + coreParameter.straightAmperes]! + parameters[at + coreParameter.straightSlope]! * (size - straight);
    saturating = flux < 0 ? -further : further;
    saturatingSlope = parameters[at + coreParameter.straightSlope]!;
  }
  const perGap = parameters[at + coreParameter.perGap]!;
  i[iAt] = along + saturating + flux * perGap;
  jacobian[jAt] = 1 / root + saturatingSlope + perGap;
}

/** The memory moves on to the flux `fluxes[fluxAt]`, once a step, after the step is solved. Turning back by no more than the deadband leaves it where it is. */
export function moveCore(parameters: Float64Array, at: number, history: Float64Array, place: number, fluxes: Float64Array, fluxAt: number): void {
  const flux = fluxes[fluxAt]!;
  const direction = history[place + coreHead.direction]!;
  const last = history[place + coreHead.last]!;
  const forward = direction * (flux - last) >= 0;
  if (forward && direction * (flux - history[place + coreHead.limit]!) <= 0) {
    history[place + coreHead.last] = flux;
    return;
  }
  let number = history[place + coreHead.count]!;
  if (!forward) {
    if (!(direction * (last - flux) > parameters[at + coreParameter.deadband]!)) return;
    if (number === coreReversals) thinOut(parameters, at, history, place);
    number = noteReversal(parameters, at, history, place);
  }
  const onward = forward ? direction : -direction;
  const open = closeLoops(history, place, number, onward, fluxes, fluxAt);
  if (open === 0) {
    history[place + coreHead.from] = 0;
    history[place + coreHead.fromAmperes] = 0;
    history[place + coreHead.bend] = parameters[at + coreParameter.initialBend]!;
    history[place + coreHead.limit] = onward * Infinity;
  } else {
    const slot = reversalAt(place, open);
    history[place + coreHead.from] = history[slot]!;
    history[place + coreHead.fromAmperes] = history[slot + 1]!;
    history[place + coreHead.bend] = parameters[at + coreParameter.bend]!;
    history[place + coreHead.limit] = open === 1 ? -history[slot]! : history[slot - 2]!;
  }
  history[place + coreHead.direction] = onward;
  history[place + coreHead.last] = flux;
  history[place + coreHead.count] = open;
}

/** Slope for signals that turn back before they have come far: that of a reversal. Small signals at rest, never a step. */
export function reversibleSlope(parameters: Float64Array, at: number, flux: number): number {
  const share = flux * parameters[at + coreParameter.perSaturation]!;
  const saturatingSlope = Math.abs(flux) > parameters[at + coreParameter.straightFlux]! ? parameters[at + coreParameter.straightSlope]!
    : parameters[at + coreParameter.saturationSlope]! * ((share * share) * (share * share)) * ((share * share) * (share * share));
  return 1 / parameters[at + coreParameter.inductance]! + saturatingSlope + parameters[at + coreParameter.perGap]!;
}

/**
 * Leaves out the nested pair whose loss changes the current least: of three neighbouring swings a > b > c it is (ν/L0³)(a − b)(b − c), by the law's first bend. The currents of what is nested in it
 * are computed again, so that every branch still begins on the one before.
 */
function thinOut(parameters: Float64Array, at: number, history: Float64Array, place: number): void {
  const count = history[place + coreHead.count]!;
  let least = Infinity;
  let out = 2;
  for (let k = 2; k + 2 <= count; k += 1) {
    const slot = reversalAt(place, k);
    const first = Math.abs(history[slot]! - history[slot - 2]!);
    const second = Math.abs(history[slot + 2]! - history[slot]!);
    const third = Math.abs(history[slot + 4]! - history[slot + 2]!);
    const change = (first - second) * (second - third);
    if (change < least) {
      least = change;
      out = k;
    }
  }
  for (let k = out; k + 2 <= count; k += 1) {
    const slot = reversalAt(place, k);
    history[slot] = history[slot + 4]!;
    writeCurrent(parameters, at, history, slot, slot - 2, slot - 1, parameters, at + coreParameter.bend);
  }
  history[place + coreHead.count] = count - 2;
  history[place + coreHead.fromAmperes] = history[reversalAt(place, count - 2) + 1]!;
}

/**
 * The memory `to` of a demagnetised core that is led through the reversals of `from`, the first `skipped` of them left out, to where that one is. The parameters are those of `to`: reversals are
 * fluxes, and currents follow from them.
 */
export function retraceCore(
  parameters: Float64Array, at: number, from: Float64Array, fromPlace: number, skipped: number, to: Float64Array, toPlace: number,
): void {
  startCore(parameters, at, to, toPlace, 0);
  const count = from[fromPlace + coreHead.count]!;
  for (let number = 1 + skipped; number <= count; number += 1) moveCore(parameters, at, to, toPlace, from, reversalAt(fromPlace, number));
  moveCore(parameters, at, to, toPlace, from, fromPlace + coreHead.last);
}

/** How many of the first reversals of `after` stand in `before` as they are: those that no flux between the two has passed. */
export function untouchedReversals(before: Float64Array, after: Float64Array, place: number): number {
  const most = Math.min(before[place + coreHead.count]!, after[place + coreHead.count]!);
  let number = 0;
  while (number < most && before[reversalAt(place, number + 1)] === after[reversalAt(place, number + 1)]) number += 1;
  return number;
}
