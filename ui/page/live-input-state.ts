/** A live input as the page sees it. Nothing of it is stored: after a reload no device is open. Types only. */
import type { LoopbackFinding } from '../../dsp/measure/index.ts';
import type { InputChannels } from '../../worklets/messages.ts';

export interface InputDevice {
  readonly deviceId: string;
  readonly label: string;
}

/** What the browser gave, read back from it; null where it does not say. */
export interface InputSettings {
  readonly label: string;
  readonly deviceId: string | null;
  readonly rateHz: number | null;
  readonly channels: number | null;
  readonly latencySeconds: number | null;
  readonly echoCancellation: boolean | null;
  readonly noiseSuppression: boolean | null;
  readonly autoGainControl: boolean | null;
  readonly voiceIsolation: boolean | null;
}

/** What browser and path state of their delays. */
export interface StatedLatency {
  readonly baseSeconds: number;
  /** 0 where the browser does not know it. */
  readonly outputSeconds: number;
  readonly inputSeconds: number | null;
  readonly pathSeconds: number;
}

export type LoopbackState =
  | { readonly kind: 'none' }
  | { readonly kind: 'asked' }
  | { readonly kind: 'measuring' }
  | { readonly kind: 'told'; readonly finding: LoopbackAnswer; readonly rateHz: number };

/** What the recording showed, or why there was none to look at: a louder noise would not help there. */
export type LoopbackAnswer = LoopbackFinding | { readonly kind: 'failed'; readonly sentence: string };

export interface LiveInputState {
  readonly phase: 'closed' | 'asked' | 'opening' | 'open';
  /** It is what plays, in place of the loop. */
  readonly sounding: boolean;
  readonly devices: readonly InputDevice[];
  /** Asked for; null: the one that the browser takes by itself. */
  readonly deviceId: string | null;
  readonly channels: InputChannels;
  /** Of the open one. */
  readonly settings: InputSettings | null;
  /** What went wrong last, in a sentence. */
  readonly trouble: string | null;
  /** Identifiers of the stretches that were kept as loops. */
  readonly kept: readonly string[];
  readonly latency: StatedLatency | null;
  readonly loopback: LoopbackState;
  /** Of the bursts, re full scale, dB. */
  readonly loopbackDbfs: number;
}

export type LiveInputAction =
  /** Before an input is opened the listener is warned; one that is open is heard at once. */
  | { readonly kind: 'input-ask' } | { readonly kind: 'input-refuse' } | { readonly kind: 'input-consent' }
  | { readonly kind: 'input-device'; readonly deviceId: string }
  | { readonly kind: 'input-channels'; readonly channels: InputChannels }
  /** The open one is heard, or the loop again. */
  | { readonly kind: 'input-hear'; readonly heard: boolean }
  | { readonly kind: 'input-close' }
  /** The last seconds of it become material on the bench. */
  | { readonly kind: 'input-keep'; readonly seconds: number }
  | { readonly kind: 'loopback-ask' } | { readonly kind: 'loopback-refuse' } | { readonly kind: 'loopback-louder' } | { readonly kind: 'loopback-measure' }
  // answers of the engine
  | { readonly kind: 'input-opened'; readonly settings: InputSettings; readonly devices: readonly InputDevice[] }
  | { readonly kind: 'input-devices'; readonly devices: readonly InputDevice[] }
  /** It could not be opened, or is gone. */
  | { readonly kind: 'input-lost'; readonly sentence: string }
  | { readonly kind: 'input-latency'; readonly latency: StatedLatency }
  /** A stretch is on its way to the bench under this identifier. */
  | { readonly kind: 'input-kept'; readonly loop: string }
  | { readonly kind: 'input-howl'; readonly frequencyHz: number }
  | { readonly kind: 'loopback-told'; readonly finding: LoopbackAnswer; readonly rateHz: number };
