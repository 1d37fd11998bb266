/** Times and regions of a loop in words. Pure. */
import type { SessionState } from './state.ts';

/** "9.6 s", "12:30.5", "1:02:03.0"; `digits` after the point. */
export function timeWords(seconds: number, digits = 1): string {
  if (seconds < 60) return `${seconds.toFixed(digits)} s`;
  const scale = 10 ** digits;
  const parts = Math.round(seconds * scale);
  const whole = Math.floor(parts / scale);
  const rest = digits > 0 ? `.${String(parts % scale).padStart(digits, '0')}` : '';
  const two = (number: number) => String(number).padStart(2, '0');
  const [hours, minutes] = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60];
  return `${hours > 0 ? `${hours}:${two(minutes)}` : minutes}:${two(whole % 60)}${rest}`;
}

/** "0.0 to 9.6 s, whole loop" */
export function regionWords(region: SessionState['region'], loopSeconds: number): string {
  if (loopSeconds < 60) return region ? `${region.startSeconds.toFixed(1)} to ${region.endSeconds.toFixed(1)} s` : `0.0 to ${loopSeconds.toFixed(1)} s, whole loop`;
  return region ? `${timeWords(region.startSeconds)} to ${timeWords(region.endSeconds)}` : `${timeWords(0)} to ${timeWords(loopSeconds)}, whole loop`;
}
