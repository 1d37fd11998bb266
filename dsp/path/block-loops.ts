/** The path's block work as readable loops: reference of the compiled one, and what runs where there is none. */
import { mixAt } from './block-work.ts';
import type { BlockWork, MixNumbers } from './block-work.ts';

export const blockLoops: BlockWork = { copy, negate, multiply, divide, crossfade, mix };

function copy(from: Float64Array, to: Float64Array, frames: number): void {
  for (let i = 0; i < frames; i += 1) to[i] = from[i]!;
}

function negate(from: Float64Array, to: Float64Array, frames: number): void {
  for (let i = 0; i < frames; i += 1) to[i] = 0 - from[i]!;
}

function multiply(from: Float64Array, to: Float64Array, frames: number, ratio: Float64Array): void {
  const factor = ratio[0]!;
  for (let i = 0; i < frames; i += 1) to[i] = from[i]! * factor;
}

function divide(from: Float64Array, to: Float64Array, frames: number, ratio: Float64Array): void {
  const divisor = ratio[0]!;
  for (let i = 0; i < frames; i += 1) to[i] = from[i]! / divisor;
}

function crossfade(into: Float64Array, other: Float64Array, frames: number, weights: Float64Array, position: number, step: number): void {
  const last = weights.length - 1;
  if (position >= last && step >= 0) return;
  for (let i = 0; i < frames; i += 1) {
    const at = position + step * (i + 1);
    const weight = weights[at < 0 ? 0 : at > last ? last : at]!;
    if (weight === 0) into[i] = other[i]!;
    else if (weight !== 1) into[i] = weight * into[i]! + (1 - weight) * other[i]! + 0;
  }
}

function mix(
  wet: Float64Array, dry: Float64Array, frames: number, weights: Float64Array, position: number, step: number, gainPosition: number, numbers: MixNumbers, wholePath: boolean,
): void {
  const last = weights.length - 1;
  const polarity = numbers[mixAt.polarity]!;
  for (let i = 0; i < frames; i += 1) {
    const at = position + step * (i + 1);
    const weight = weights[at < 0 ? 0 : at > last ? last : at]!;
    let inGain = numbers[mixAt.inGain]!;
    let outGain = numbers[mixAt.outGain]!;
    const gainAt = gainPosition + i + 1;
    if (gainAt < last) {
      const gainWeight = weights[gainAt]!;
      inGain = gainWeight * inGain + (1 - gainWeight) * numbers[mixAt.inGainBefore]!;
      outGain = gainWeight * outGain + (1 - gainWeight) * numbers[mixAt.outGainBefore]!;
    }
    if (weight === 1) wet[i] = wet[i]! * inGain;
    else if (weight === 0) wet[i] = (wholePath ? polarity * dry[i]! : wet[i]!) * outGain;
    else if (wholePath) wet[i] = weight * inGain * wet[i]! + (1 - weight) * outGain * (polarity * dry[i]!);
    else wet[i] = wet[i]! * (weight * inGain + (1 - weight) * outGain);
  }
}
