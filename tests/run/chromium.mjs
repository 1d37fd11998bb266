// Finds a Chromium for the browser tests, or installs one, and says which.
import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { chromium } from 'playwright-core';

const usualPlaces = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome'];

/** @returns {string | undefined} path of an installed Chromium */
function installedChromium() {
  const named = process.env.CHROMIUM_PATH;
  if (named) {
    if (!existsSync(named)) throw new Error(`CHROMIUM_PATH: expected an existing program, got ${named}`);
    return named;
  }
  return [...usualPlaces, chromium.executablePath()].find((place) => place && existsSync(place));
}

/** True where Debian's package manager can be used as it is. */
function canUseApt() {
  return process.getuid?.() === 0 && spawnSync('apt-get', ['--version']).status === 0;
}

/**
 * Path of a Chromium; installs one when there is none.
 * @param {(line: string) => void} say
 */
export function findOrInstallChromium(say) {
  const found = installedChromium();
  if (found) {
    say(`Chromium for the browser tests: ${found}`);
    return found;
  }
  if (canUseApt()) {
    say('No Chromium found: installing the Debian package "chromium"');
    execFileSync('apt-get', ['update', '-qq'], { stdio: 'inherit' });
    execFileSync('apt-get', ['install', '-y', '-qq', '--no-install-recommends', 'chromium'], { stdio: 'inherit' });
  } else {
    say('No Chromium found: downloading the one Playwright keeps for itself');
    execFileSync(process.execPath, ['node_modules/playwright-core/cli.js', 'install', 'chromium'], { stdio: 'inherit' });
  }
  const installed = installedChromium();
  if (!installed) throw new Error('Chromium: expected an installed browser, got none; set CHROMIUM_PATH to one');
  say(`Chromium installed: ${installed}`);
  return installed;
}
