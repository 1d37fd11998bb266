/** The same measurement inside a page: `window.timeStagebench(rounds)`. */
import { timeEverything } from './kernels.ts';

declare global {
  interface Window {
    timeStagebench: (rounds: number) => ReturnType<typeof timeEverything>;
  }
}

window.timeStagebench = (rounds) => timeEverything(rounds, () => performance.now());
