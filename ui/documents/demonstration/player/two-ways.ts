/** Both ways of a demonstration, going round in step, faded between as the bench fades. Made anew at every Play, so that no schedule of an earlier one is in the way. */
import { decibelsToRatio } from '../../../../dsp/math/index.ts';
import { fadeSeconds, fadeWeights } from '../../../../dsp/path/fade.ts';

export type Way = 'in' | 'out';

/** One array a channel; both ways of one length. */
export interface Sounds {
  readonly rateHz: number;
  readonly in: readonly Float64Array[];
  readonly out: readonly Float64Array[];
}

/** From silence to the level that is set. */
const rampSeconds = 0.2;
/** A press of the blind part is silent for so long in its middle, whichever way comes next. */
const quietSeconds = 0.02;
/** Between two schedules of one gain: they may not touch. */
const apartSeconds = 0.001;
/** Until the first sample: long enough for any output to be ready. */
const leadSeconds = 0.05;

const steps = 480;
const rising = Float32Array.from(fadeWeights(steps));
const falling = rising.toReversed();

/** What sounds from one Play to the next silence. */
interface Voice {
  readonly sources: readonly AudioBufferSourceNode[];
  readonly gains: Readonly<Record<Way, GainNode>>;
  readonly dip: GainNode;
  /** Of the silence at the end, apart from the ramp of the beginning. */
  readonly end: GainNode;
  readonly startedAt: number;
  readonly startedFrom: number;
  /** When the last fade has ended. */
  freeAt: number;
}

export class TwoWays {
  readonly seconds: number;
  readonly #sounds: Sounds;
  readonly #makeContext: (rateHz: number) => AudioContext;
  #context: AudioContext | null = null;
  #buffers: Readonly<Record<Way, AudioBuffer>> | null = null;
  #level: GainNode | null = null;
  #voice: Voice | null = null;
  #from = 0;
  #way: Way = 'in';
  #levelDb: number;

  constructor(sounds: Sounds, levelDb: number, makeContext: (rateHz: number) => AudioContext = contextAt) {
    this.#sounds = sounds;
    this.#makeContext = makeContext;
    this.#levelDb = levelDb;
    this.seconds = sounds.in[0]!.length / sounds.rateHz;
  }

  get playing(): boolean {
    return this.#voice !== null;
  }

  get positionSeconds(): number {
    const voice = this.#voice;
    if (!voice) return this.#from;
    return (voice.startedFrom + Math.max(0, this.#context!.currentTime - voice.startedAt)) % this.seconds;
  }

  /** From silence over 200 ms. @throws what the browser throws where it has no sound to give */
  async play(): Promise<void> {
    if (this.#voice) return;
    const context = this.#prepare();
    const at = context.currentTime + leadSeconds;
    const ramp = new GainNode(context, { gain: 0 });
    ramp.gain.setValueAtTime(0, at);
    ramp.gain.linearRampToValueAtTime(1, at + rampSeconds);
    const dip = new GainNode(context);
    const end = new GainNode(context);
    const gains = { in: new GainNode(context, { gain: this.#way === 'in' ? 1 : 0 }), out: new GainNode(context, { gain: this.#way === 'out' ? 1 : 0 }) };
    const sources = (['in', 'out'] as const).map((way) => {
      const source = new AudioBufferSourceNode(context, { buffer: this.#buffers![way], loop: true });
      source.connect(gains[way]).connect(dip);
      source.start(at, this.#from);
      return source;
    });
    dip.connect(ramp).connect(end).connect(this.#level!);
    this.#voice = { sources, gains, dip, end, startedAt: at, startedFrom: this.#from, freeAt: at };
    await context.resume();
  }

  /** To silence over 10 ms; the place is kept. */
  silence(): void {
    const voice = this.#voice;
    if (!voice) return;
    this.#from = this.positionSeconds;
    this.#voice = null;
    const now = this.#context!.currentTime;
    voice.end.gain.setValueCurveAtTime(falling, now, fadeSeconds);
    for (const source of voice.sources) source.stop(now + fadeSeconds + apartSeconds);
    voice.sources[0]!.onended = () => voice.end.disconnect();
  }

  /** Equal-gain fade over 10 ms, the same in each direction; a second press waits for the end of the first. */
  switchTo(way: Way): void {
    const before = this.#way;
    this.#way = way;
    const voice = this.#voice;
    if (!voice || before === way) return;
    const at = Math.max(this.#context!.currentTime, voice.freeAt);
    voice.gains[way].gain.setValueCurveAtTime(rising, at, fadeSeconds);
    voice.gains[before].gain.setValueCurveAtTime(falling, at, fadeSeconds);
    voice.freeAt = at + fadeSeconds + apartSeconds;
  }

  /** The act of every press in the blind part: down over 10 ms, silent, up over 10 ms; what has to change changes in the silence, so that nothing tells a switch from none. */
  dipTo(way: Way): void {
    this.#way = way;
    const voice = this.#voice;
    if (!voice) return;
    const at = Math.max(this.#context!.currentTime, voice.freeAt);
    const quietAt = at + fadeSeconds + apartSeconds;
    voice.dip.gain.setValueCurveAtTime(falling, at, fadeSeconds);
    voice.gains.in.gain.setValueAtTime(way === 'in' ? 1 : 0, quietAt);
    voice.gains.out.gain.setValueAtTime(way === 'out' ? 1 : 0, quietAt);
    voice.dip.gain.setValueCurveAtTime(rising, quietAt + quietSeconds, fadeSeconds);
    voice.freeAt = quietAt + quietSeconds + fadeSeconds + apartSeconds;
  }

  setLevelDb(db: number): void {
    this.#levelDb = db;
    if (this.#context && this.#level) this.#level.gain.setTargetAtTime(decibelsToRatio(db), this.#context.currentTime, 0.01);
  }

  /** By silence and a new start when it plays. */
  async seek(seconds: number): Promise<void> {
    const played = this.playing;
    this.silence();
    this.#from = ((seconds % this.seconds) + this.seconds) % this.seconds;
    if (played) await this.play();
  }

  #prepare(): AudioContext {
    if (this.#context) return this.#context;
    const { rateHz, in: inChannels, out: outChannels } = this.#sounds;
    const context = this.#makeContext(rateHz);
    const bufferOf = (channels: readonly Float64Array[]): AudioBuffer => {
      const buffer = new AudioBuffer({ length: channels[0]!.length, numberOfChannels: channels.length, sampleRate: rateHz });
      channels.forEach((channel, index) => buffer.copyToChannel(Float32Array.from(channel), index));
      return buffer;
    };
    this.#buffers = { in: bufferOf(inChannels), out: bufferOf(outChannels) };
    this.#level = new GainNode(context, { gain: decibelsToRatio(this.#levelDb) });
    this.#level.connect(context.destination);
    this.#context = context;
    return context;
  }
}

/** At the rate of the recording, so that nothing is resampled here; at the output's own where a browser refuses that. */
function contextAt(rateHz: number): AudioContext {
  try {
    return new AudioContext({ sampleRate: rateHz });
  } catch {
    return new AudioContext();
  }
}
