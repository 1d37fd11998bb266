// Node tests beside tests in a real Chromium, then the long node tests by two workers; the longest journeys have a project and a command of their own.
import { fileURLToPath } from 'node:url';
import { playwright } from '@vitest/browser-playwright';
import { defineConfig, type TestProjectInlineConfiguration } from 'vitest/config';
import { crossOriginIsolation } from '../ui/vite-plugins/cross-origin-isolation.ts';
import { scriptText } from '../ui/vite-plugins/script-text.ts';
import { singleFileWorkers } from '../ui/vite-plugins/single-file-workers.ts';
import { singleFileWorklet } from '../ui/vite-plugins/single-file-worklet.ts';

const root = fileURLToPath(new URL('..', import.meta.url));

/** What takes longest and needs no browser, or needs a thread of its own: what tells one that has compiled nothing from one that has. */
const afterwards = ['tests/stages/**/*.test.ts', 'tests/circuit/emit/**/*.test.ts', 'tests/circuit/robustness.test.ts', 'tests/path/code-modules.test.ts'];

/** Journeys that take longest. */
const long = 'tests/browser/long/**';

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
      {
        root,
        plugins: [scriptText()],
        // These files share a thread and what it has imported: to import the core anew for each would take as long as the tests.
        test: { name: 'node', isolate: false, setupFiles: ['tests/run/fresh-thread.ts'], environment: 'node', include: ['tests/**/*.test.ts'], exclude: ['tests/browser/**', ...afterwards], testTimeout: 60_000 },
      },
      {
        root,
        // Once the browser is done: beside it, more than one worker would take the time from what plays there.
        test: { name: 'node-afterwards', environment: 'node', include: afterwards, testTimeout: 60_000, maxWorkers: 2, sequence: { groupOrder: 1 } },
      },
      inChromium('browser', { include: ['tests/browser/**/*.test.ts'], exclude: [long] }),
      // Not part of the whole run: `npm run journeys`.
      inChromium('journeys', { include: [long] }),
    ],
  },
});
