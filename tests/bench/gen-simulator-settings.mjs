// Writes simulator-settings.json. Run `node tests/bench/gen-simulator-settings.mjs` where the simulator is installed, whenever one of the circuits changes; it takes some minutes.
import { bundle } from './bundle.mjs';

await bundle('tests/bench/find-simulator-settings.ts', 'dist/bench/find-simulator-settings.mjs');
await import('../../dist/bench/find-simulator-settings.mjs');
