/** The browser's own input devices: asked for without any treatment, and read back. */
import type { InputDevice, InputSettings } from '../live-input-state.ts';
import { sentenceOf } from '../sentence.ts';

/** Nothing between the device and the bench; both channels, which the bench joins itself. */
export function wantedOf(deviceId: string | null, rateHz: number): MediaTrackConstraints {
  const treatments = { echoCancellation: false, noiseSuppression: false, autoGainControl: false, voiceIsolation: false };
  return { ...treatments, sampleRate: rateHz, channelCount: 2, ...(deviceId === null ? {} : { deviceId: { exact: deviceId } }) };
}

/** @throws Error with one sentence */
export async function openInput(deviceId: string | null, rateHz: number): Promise<MediaStream> {
  const { mediaDevices } = navigator as { readonly mediaDevices?: MediaDevices };
  if (!mediaDevices?.getUserMedia) throw new Error('This browser gives no inputs to this page: it must be opened by https or from this machine.');
  try {
    return await mediaDevices.getUserMedia({ audio: wantedOf(deviceId, rateHz) });
  } catch (error) {
    throw new Error(refusalOf(error), { cause: error });
  }
}

function refusalOf(error: unknown): string {
  switch (error instanceof Error ? error.name : '') {
    case 'NotAllowedError': return 'The browser was not allowed to open an input: allow the microphone for this page in the browser’s settings, then ask again.';
    case 'NotFoundError': return 'No input was found: connect one, then ask again.';
    case 'NotReadableError': return 'The input does not answer, or another program keeps it: free it, then ask again.';
    case 'OverconstrainedError': return 'That input is gone: choose another.';
    default: return `The input could not be opened: ${sentenceOf(error)}.`;
  }
}

export function settingsOf(track: MediaStreamTrack): InputSettings {
  const given = track.getSettings() as Record<string, unknown>;
  const number = (name: string) => (typeof given[name] === 'number' ? given[name] : null);
  return {
    label: track.label || 'input', deviceId: typeof given['deviceId'] === 'string' ? given['deviceId'] : null,
    rateHz: number('sampleRate'), channels: number('channelCount'), latencySeconds: number('latency'),
    echoCancellation: treated(given['echoCancellation']), noiseSuppression: treated(given['noiseSuppression']), autoGainControl: treated(given['autoGainControl']), voiceIsolation: treated(given['voiceIsolation']),
  };
}

/** Some browsers name a kind of treatment in place of true. */
function treated(given: unknown): boolean | null {
  return typeof given === 'boolean' ? given : typeof given === 'string' ? true : null;
}

/** With their names: these are told once an input has been allowed. */
export async function inputDevices(): Promise<readonly InputDevice[]> {
  const all = await navigator.mediaDevices.enumerateDevices();
  return all.filter(({ kind }) => kind === 'audioinput').map(({ deviceId, label }, index) => ({ deviceId, label: label || `input ${index + 1}` }));
}
