export function median(values: readonly number[]): number {
  if (values.length === 0) throw new RangeError('median: expected at least one value, got none');
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)]!;
}
