/**
 * Bytes by which the heap grows over `blocks` blocks, once `warmUp` of them have run: the smallest of up to 40 rounds, as code that is not compiled yet boxes its numbers, and compiler and
 * test runner allocate beside it. Ends with the first round below `enough`.
 */
export async function heapGrowth(runBlock: (block: number) => void, { warmUp, blocks, enough }: { readonly warmUp: number; readonly blocks: number; readonly enough: number }): Promise<number> {
  const run = (count: number): number => {
    const before = process.memoryUsage().heapUsed;
    for (let block = 0; block < count; block += 1) runBlock(block);
    return process.memoryUsage().heapUsed - before;
  };
  run(warmUp);
  let grown = Infinity;
  for (let round = 0; round < 40 && !(grown < enough); round += 1) {
    grown = Math.min(grown, Math.abs(run(blocks)));
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
  return grown;
}
