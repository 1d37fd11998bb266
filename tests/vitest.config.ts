// Two projects in one run: node tests, and tests in a real Chromium.
import { fileURLToPath } from 'node:url';
import { playwright } from '@vitest/browser-playwright';
import { defineConfig } from 'vitest/config';
import { crossOriginIsolation } from '../ui/vite-plugins/cross-origin-isolation.ts';
import { singleFileWorklet } from '../ui/vite-plugins/single-file-worklet.ts';

const root = fileURLToPath(new URL('..', import.meta.url));

export default defineConfig({
  root,
  test: {
    projects: [
      {
        root,
        test: { name: 'node', environment: 'node', include: ['tests/**/*.test.ts'], exclude: ['tests/browser/**'], testTimeout: 60_000 },
      },
      {
        root,
        plugins: [singleFileWorklet(), crossOriginIsolation()],
        server: { headers: crossOriginIsolation.headers },
        optimizeDeps: { include: ['comlink', 'standardized-audio-context', 'lit', 'lit/decorators.js', 'axe-core'] },
        test: {
          name: 'browser',
          include: ['tests/browser/**/*.test.ts'],
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
                args: ['--autoplay-policy=no-user-gesture-required', '--disable-background-networking'],
              },
            }),
          },
        },
      },
    ],
  },
});
