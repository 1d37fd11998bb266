/**
 * Processor time, so that what other programs on the machine do is not in the figures: of this thread where the system keeps such an account (Linux: /proc/thread-self/schedstat, its first number is
 * nanoseconds), else of the process with all its threads.
 */
import { openSync, readSync } from 'node:fs';

const account = openAccount();
const text = Buffer.alloc(64);

function openAccount(): number | null {
  try {
    return openSync('/proc/thread-self/schedstat', 'r');
  } catch {
    return null;
  }
}

export function processorNanoseconds(): number {
  // This call brings the thread's account up to date, which is otherwise done at the system's ticks alone.
  const { user, system } = process.cpuUsage();
  if (account === null) return 1000 * (user + system);
  return Number(text.toString('latin1', 0, readSync(account, text, 0, 64, 0)).split(' ')[0]);
}
