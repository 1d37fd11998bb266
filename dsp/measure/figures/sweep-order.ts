/** In which order the points of a sweep are measured, and how they are shared out: an outline of the whole first. */

/** Numbers 0 to `count` − 1, ends and every sixteenth first, then those between, each round twice as dense. */
export function outlineFirst(count: number): number[] {
  const order: number[] = [];
  const taken = new Set<number>();
  const take = (index: number): void => {
    if (index < 0 || index >= count || taken.has(index)) return;
    taken.add(index);
    order.push(index);
  };
  for (let stride = 16; stride >= 1; stride /= 2) {
    for (let index = 0; index < count; index += stride) take(index);
    take(count - 1);
  }
  return order;
}

/** So many shares a worker at least, so that none waits long for the last one. */
const sharesPerWorker = 4;
const leastShares = 8;

/** `order` cut into runs of about equal cost, in its order. */
export function inShares(order: readonly number[], workers: number, costOf: (index: number) => number = () => 1): number[][] {
  const wanted = Math.max(1, Math.min(order.length, Math.max(leastShares, sharesPerWorker * workers)));
  const total = order.reduce((sum, index) => sum + costOf(index), 0);
  const shares: number[][] = [];
  let done = 0;
  for (const index of order) {
    if (shares.length === 0 || done >= (shares.length * total) / wanted) shares.push([]);
    shares.at(-1)!.push(index);
    done += costOf(index);
  }
  return shares;
}
