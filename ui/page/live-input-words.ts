/** A live input in words: what was granted, what is resampled, what its delays are. Pure. */
import { ratioToDecibels } from '../../dsp/math/index.ts';
import { writeQuantity } from '../../dsp/path/index.ts';
import type { InputChannels } from '../../worklets/messages.ts';
import type { InputSettings, LoopbackAnswer, StatedLatency } from './live-input-state.ts';
import { matchedOnKept } from './reduce-live-input.ts';
import type { BenchState } from './state.ts';

export const channelWords: Readonly<Record<InputChannels, string>> = { mono: 'mono, both as one', stereo: 'stereo', left: 'left alone' };

/** What a browser may do to a microphone, and must not here. */
const treatments = [['echoCancellation', 'echo cancellation'], ['noiseSuppression', 'noise suppression'], ['autoGainControl', 'automatic gain'], ['voiceIsolation', 'voice isolation']] as const;

/** A sentence for everything that was asked for and not given, or not told. */
export function notGranted(settings: InputSettings, channels: InputChannels): readonly string[] {
  const kept = treatments.filter(([name]) => settings[name] === true).map(([, words]) => words);
  const untold = treatments.filter(([name]) => name !== 'voiceIsolation' && settings[name] === null).map(([, words]) => words);
  return [
    ...(kept.length > 0 ? [`The browser keeps ${listed(kept)} on: what you hear is not the input alone.`] : []),
    ...(untold.length > 0 ? [`The browser does not say whether ${listed(untold)} ${untold.length > 1 ? 'are' : 'is'} off.`] : []),
    ...(channels === 'stereo' && settings.channels === 1 ? ['The device gives one channel: it is heard on both sides.'] : []),
  ];
}

/** "USB interface, 2 channels at 48 kHz; echo cancellation, noise suppression and automatic gain off" */
export function grantedWords(settings: InputSettings): string {
  const off = treatments.filter(([name]) => settings[name] === false).map(([, words]) => words);
  const channels = settings.channels === null ? '' : `, ${settings.channels} ${settings.channels === 1 ? 'channel' : 'channels'}`;
  const rate = settings.rateHz === null ? '' : `${channels === '' ? ',' : ''} at ${kilohertz(settings.rateHz)}`;
  return `${settings.label}${channels}${rate}${off.length > 0 ? `; ${listed(off)} off` : ''}.`;
}

export function rateWords(settings: InputSettings, benchRateHz: number): string {
  if (settings.rateHz === null) return `The bench runs at ${kilohertz(benchRateHz)}. The browser does not tell the input's rate; where it differs, the browser resamples.`;
  return settings.rateHz === benchRateHz ? `Input and bench both run at ${kilohertz(benchRateHz)}.`
    : `The input runs at ${kilohertz(settings.rateHz)}, the bench at ${kilohertz(benchRateHz)}: the browser resamples the input, in a way of its own.`;
}

/** What the match says in place of its state while a live input is heard; null: its own words. */
export function liveMatchWords(state: BenchState): { readonly heading: string; readonly line: string } | null {
  const { live } = state;
  if (!live.input.sounding || live.match.kind === 'off') return null;
  if (!matchedOnKept(state)) return { heading: 'not matched: live input', line: 'keep a stretch as a loop: its match holds here too' };
  return live.match.kind === 'matched' ? { heading: 'matched on the kept stretch', line: 'live input itself is not measured' } : null;
}

/** Name and words of each share, the sum last. */
export function statedLatencyRows(latency: StatedLatency): readonly (readonly [name: string, words: string])[] {
  const { baseSeconds, outputSeconds, inputSeconds, pathSeconds } = latency;
  return [
    ['browser', milliseconds(baseSeconds)],
    ['output device', outputSeconds > 0 ? milliseconds(outputSeconds) : 'not stated'],
    ['input device', inputSeconds === null ? 'not stated' : milliseconds(inputSeconds)],
    ['path', milliseconds(pathSeconds)],
    ['sum of what is stated', milliseconds(baseSeconds + outputSeconds + (inputSeconds ?? 0) + pathSeconds)],
  ];
}

/** What was measured, and what it consists of. `pathSeconds`: null while it is not known. */
export function loopbackWords(finding: LoopbackAnswer, rateHz: number, pathSeconds: number | null): readonly string[] {
  if (finding.kind !== 'found') return [finding.sentence];
  const { delayFrames, driftPpm, spreadFrames, heard, bursts, standsOutDb, gainDb, inverted } = finding;
  const seconds = delayFrames / rateHz;
  return [
    `Measured: ${milliseconds(seconds)}, ${delayFrames.toFixed(1)} samples at ${kilohertz(rateHz)}, from the bench's output through browser, devices and cable (or air, about 3 ms a metre) to its input.`,
    ...(pathSeconds === null ? [] : [`With the path's ${milliseconds(pathSeconds)}, what you play is heard ${milliseconds(seconds + pathSeconds)} late.`]),
    `${heard} of ${bursts} bursts, within ${writtenFrames(spreadFrames)} of one line, ${standsOutDb.toFixed(0)} dB over the rest; came back ${Math.abs(gainDb).toFixed(1)} dB ${gainDb > 0 ? 'louder' : 'weaker'}${inverted ? ', inverted' : ''}.`,
    ...(Math.abs(driftPpm) >= 5 ? [`Input and output drift apart by ${Math.abs(driftPpm).toFixed(0)} millionths: their clocks differ.`] : []),
    'It holds for these devices, as they are set now.',
  ];
}

/** "−12.3 dBFS" of a magnitude; "silent" under −120. */
export function inputLevelWords(peak: number): string {
  const db = ratioToDecibels(peak);
  return db < -120 ? 'silent' : `${db < -0.05 ? '−' : ''}${Math.abs(db).toFixed(1)} dBFS peak`;
}

function milliseconds(seconds: number): string {
  return `${(1000 * seconds).toFixed(seconds < 0.01 ? 2 : 1)} ms`;
}

function kilohertz(rateHz: number): string {
  return writeQuantity(rateHz, 'frequency', 'Hz');
}

function writtenFrames(frames: number): string {
  return frames < 0.01 ? '0.01 samples' : `${frames.toFixed(2)} samples`;
}

function listed(words: readonly string[]): string {
  return words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;
}
