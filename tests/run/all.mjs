// npm test: types, lint, import rule, node tests and browser tests; ends with "N passed, N failed".
import { execFile, spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, rmSync } from 'node:fs';
import { findOrInstallChromium } from './chromium.mjs';

const bin = (name) => `node_modules/.bin/${name}`;
const checks = [
  ['types', bin('tsc'), ['-p', '.']],
  ['types of dsp (no browser, no Node)', bin('tsc'), ['-p', 'dsp']],
  ['types of plots (no browser, no Node)', bin('tsc'), ['-p', 'ui/plot']],
  ['types of the audio thread', bin('tsc'), ['-p', 'worklets/audio']],
  ['lint', bin('eslint'), ['--config', '.eslint.config.js', '.']],
  ['import rule', bin('depcruise'), ['--config', '.dependency-cruiser.js', 'dsp', 'worklets', 'ui', 'tests']],
  ['unused code and packages', bin('knip'), []],
];

let passed = 0;
let failed = 0;

/** Runs one check and prints what came of it. */
function check([name, command, args]) {
  return new Promise((resolve) => {
    execFile(command, args, { maxBuffer: 1e8 }, (error, stdout, stderr) => {
      if (error) {
        failed += 1;
        console.log(`FAILED  ${name}\n${stdout}${stderr}${error.message}`);
      } else {
        passed += 1;
        console.log(`ok      ${name}`);
      }
      resolve();
    });
  });
}

// Two at a time: as many as the smallest machine has cores.
const waiting = [...checks];
await Promise.all([1, 2].map(async () => {
  for (let next = waiting.shift(); next; next = waiting.shift()) await check(next);
}));

const reportFile = 'dist/test-report.json';
mkdirSync('dist', { recursive: true });
rmSync(reportFile, { force: true });
const chromiumPath = findOrInstallChromium(console.log);
const vitest = spawnSync(bin('vitest'), ['run', '--config', 'tests/vitest.config.ts', '--project', 'node*', '--project', 'browser', '--reporter=default', '--reporter=json', `--outputFile.json=${reportFile}`],
  { stdio: 'inherit', env: { ...process.env, CHROMIUM_PATH: chromiumPath } });
try {
  const report = JSON.parse(readFileSync(reportFile, 'utf8'));
  passed += report.numPassedTests;
  failed += report.numFailedTests;
} catch (error) {
  failed += 1;
  console.log(`FAILED  vitest left no report: ${error.message}`);
}
if (vitest.status !== 0 && failed === 0) failed += 1;

console.log(`${passed} passed, ${failed} failed`);
process.exitCode = failed === 0 ? 0 : 1;
