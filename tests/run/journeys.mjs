// npm run journeys: the longest journeys through the page in a real Chromium, one after the other.
import { spawnSync } from 'node:child_process';
import { findOrInstallChromium } from './chromium.mjs';

const { status } = spawnSync('node_modules/.bin/vitest', ['run', '--config', 'tests/vitest.config.ts', '--project', 'journeys', ...process.argv.slice(2)],
  { stdio: 'inherit', env: { ...process.env, CHROMIUM_PATH: findOrInstallChromium(console.log) } });
process.exitCode = status ?? 1;
