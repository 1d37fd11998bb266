// node run-command-line.mjs WORDS…: the built command line with these words in this process; then its processor time and wall clock, as JSON, in the last line of stderr.
import { main } from '../../dist/command-line/stagebench.mjs';

const start = performance.now();
process.exitCode = await main(process.argv.slice(2));
const { user, system } = process.cpuUsage();
process.stderr.write(`\n${JSON.stringify({ processorSeconds: 1e-6 * (user + system), wallSeconds: 1e-3 * (performance.now() - start) })}\n`);
