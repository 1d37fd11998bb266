/** Longest time a job keeps the worker from hearing its messages. */
const sliceMilliseconds = 8;

/** What a job may be told while it runs. */
export interface JobControl {
  /** Looked at between slices: true ends the job. */
  cancelled: boolean;
}

const channel = new MessageChannel();
const waiting: (() => void)[] = [];
channel.port1.onmessage = () => waiting.shift()?.();

/** Lets the worker's messages in; a timer would wait 4 ms. */
function breathe(): Promise<void> {
  return new Promise((resolve) => {
    waiting.push(resolve);
    channel.port2.postMessage(null);
  });
}

/**
 * Runs a generator in slices of at most 8 ms (a single step may be longer). Gives its result, or null when it was cancelled. `onStep` gets what is
 * yielded last in every slice, if it is not undefined.
 */
export async function runInSlices<Step, Result>(
  job: Generator<Step, Result>, control: JobControl, onStep?: (step: Step) => void,
): Promise<Result | null> {
  for (;;) {
    const began = performance.now();
    let last: Step | undefined;
    while (performance.now() - began < sliceMilliseconds) {
      const step = job.next();
      if (step.done) return step.value;
      last = step.value ?? last;
    }
    if (last !== undefined) onStep?.(last);
    await breathe();
    if (control.cancelled) return null;
  }
}
