/** Progress that is told at most so often, the first at once. */
export function atMostEvery<T>(milliseconds: number, tell: (step: T) => void): (step: T) => void {
  let told = -Infinity;
  return (step) => {
    const now = performance.now();
    if (now - told < milliseconds) return;
    told = now;
    tell(step);
  };
}
