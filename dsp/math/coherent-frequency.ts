// Frequencies that fit a record: every harmonic falls on a bin of its own.

/**
 * The odd number of cycles in `frames` nearest to the wanted frequency (the next odd one above where the nearest whole
 * number is even), and its frequency. Odd cycles in a power-of-two record have no common divisor with it, so that no
 * alias falls on a harmonic's bin. Source: common practice, derived in tests/reference/CHECKS.md §9.
 */
export function nearestOddCycles(wantedHz: number, sampleRateHz: number, frames: number): { cycles: number; frequencyHz: number } {
  const nearest = Math.round(wantedHz * frames / sampleRateHz);
  const cycles = nearest % 2 === 0 ? nearest + 1 : nearest;
  return { cycles, frequencyHz: cycles * sampleRateHz / frames };
}
