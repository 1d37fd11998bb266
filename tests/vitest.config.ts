// Node tests beside tests in a real Chromium, then the long node tests by two workers; the longest journeys have a project and a command of their own.
import { fileURLToPath } from 'node:url';
import { playwright } from '@vitest/browser-playwright';
import { defineConfig, type TestProjectInlineConfiguration } from 'vitest/config';
import { crossOriginIsolation } from '../ui/vite-plugins/cross-origin-isolation.ts';
import { scriptText } from '../ui/vite-plugins/script-text.ts';
import { singleFileWorkers } from '../ui/vite-plugins/single-file-workers.ts';
import { singleFileWorklet } from '../ui/vite-plugins/single-file-worklet.ts';

const root = fileURLToPath(new URL('..', import.meta.url));

/** What takes longest and needs no browser: as much as leaves, beside the browser, what one worker does meanwhile. */
const afterwards = [
  'tests/stages/**/*.test.ts', 'tests/circuit/emit/**/*.test.ts', 'tests/circuit/robustness.test.ts', 'tests/circuit/nodal-stress.test.ts',
  'tests/path/path-sound.test.ts', 'tests/path/fade-discipline.test.ts', 'tests/measure/loop/*.test.ts',
];

/** What runs circuits, each file in a thread of its own: code that has seen all of them runs slower (a file of path/ in three times its time), and some files ask what a fresh thread does. */
const circuits = ['tests/circuit/**/*.test.ts', 'tests/path/**/*.test.ts', 'tests/measure/**/*.test.ts'];

/** Journeys that take longest. */
const long = 'tests/browser/long/**';

function onNode(name: string, rest: TestProjectInlineConfiguration['test']): TestProjectInlineConfiguration {
  return { root, plugins: [scriptText()], test: { name, environment: 'node', testTimeout: 60_000, ...rest } };
}

function inChromium(name: string, files: { readonly include: string[]; readonly exclude?: string[] }): TestProjectInlineConfiguration {
  return {
    root,
    plugins: [singleFileWorklet(), singleFileWorkers(), scriptText(), crossOriginIsolation()],
    server: { headers: crossOriginIsolation.headers },
    optimizeDeps: { include: ['comlink', 'standardized-audio-context', 'lit', 'lit/decorators.js', 'axe-core'] },
    test: {
      name,
      ...files,
      testTimeout: 60_000,
      browser: {
        enabled: true,
        headless: true,
        screenshotFailures: false,
        instances: [{ browser: 'chromium' }],
        provider: playwright({
          launchOptions: {
            ...(process.env['CHROMIUM_PATH'] ? { executablePath: process.env['CHROMIUM_PATH'] } : { executablePath: '/usr/bin/chromium' }),
            chromiumSandbox: false,
            args: ['--autoplay-policy=no-user-gesture-required', '--disable-background-networking', '--use-fake-device-for-media-stream', '--use-fake-ui-for-media-stream'],
          },
        }),
      },
    },
  };
}

export default defineConfig({
  root,
  test: {
    projects: [
      onNode('node', { include: circuits, exclude: afterwards }),
      // These share a thread and what it has imported: to import the core anew for each would take longer than the tests.
      onNode('node-shared', { include: ['tests/**/*.test.ts'], exclude: ['tests/browser/**', ...circuits, ...afterwards], isolate: false, setupFiles: ['tests/run/fresh-thread.ts'] }),
      // Once the browser is done: beside it, more than one worker would take the time from what plays there.
      onNode('node-afterwards', { include: afterwards, maxWorkers: 2, sequence: { groupOrder: 1 } }),
      inChromium('browser', { include: ['tests/browser/**/*.test.ts'], exclude: [long] }),
      // Not part of the whole run: `npm run journeys`.
      inChromium('journeys', { include: [long] }),
    ],
  },
});
