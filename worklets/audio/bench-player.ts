import { fadeFrames, kernelModules, landingFrames, LoopPlayer, PathRunner, staticModules, type RegionFrames, type TrialPlan } from '../../dsp/path/index.ts';
import { adoptModules, hasModules } from '../compiled-code.ts';
import type { BlindSwitch, FromProcessor, LoggedRequest, LoopPosition, ProcessorOptions, ToProcessor } from '../messages.ts';
import { Warming } from '../warming.ts';
import { DifferencePlayer } from './difference-player.ts';
import { Dip } from './dip.ts';
import { ExposureTally } from './exposure-tally.ts';
import { LiveListening } from './live-listening.ts';
import { LoopbackRun } from './loopback-run.ts';
import { MeterBoard } from './meter-board.ts';
import { limiterCeiling, MonitorLimiter } from './monitor-limiter.ts';
import type { ArrivedPlan } from './plan-arrivals.ts';
import { Ramp } from './ramp.ts';
import { SampleTap } from './sample-tap.ts';
import { SideTelling } from './side-telling.ts';
import { Tone } from './tone.ts';

/** Frames done at a time, whatever the block. */
export const chunkFrames = 128;
const startSeconds = 0.2;
const silenceSeconds = 0.01;
const monitorSeconds = 0.02;
const noInput: readonly Float32Array[] = [];

/**
 * What the audio processor does, without the Web Audio around it: loop, tone or live input → path → ramps → monitor level → limiter. `render` is the
 * callback's: it allocates nothing (but for the messages it posts when something lands), and does not wait. `take` and `takePlan` run between callbacks.
 */
export class BenchPlayer {
  readonly #rateHz: number;
  readonly #compiled: boolean;
  readonly #post: (message: FromProcessor) => void;
  readonly #loop = new LoopPlayer();
  readonly #tone = new Tone();
  readonly #ramp = new Ramp(0);
  readonly #monitor: Ramp;
  readonly #limiter: MonitorLimiter;
  readonly #board = new MeterBoard();
  readonly #telling: SideTelling;
  readonly #inputs = [new Float64Array(chunkFrames), new Float64Array(chunkFrames)];
  readonly #outputs = [new Float64Array(chunkFrames), new Float64Array(chunkFrames)];
  #runner: PathRunner;
  #newestPlan: TrialPlan;
  #newestRevision: number;
  #trialIn: boolean;
  /** Something has been heard blind: from here on gains stay as they are. */
  #heardBlind = false;
  /** The side a press asked for, until the silence of its dip. */
  #blindTrialIn: boolean;
  readonly #dip: Dip;
  readonly #difference: DifferencePlayer;
  #match: { inGain: number; outGain: number; serial: number } | null = null;
  #matchInForce = { inGain: 1, outGain: 1 };
  #playing = false;
  #toneOn = false;
  /** Done as soon as the output is silent; `rise` says how the sound comes back. */
  #whenQuiet: (() => void) | null = null;
  #riseSeconds = startSeconds;
  readonly #warming: Warming;
  #tap: SampleTap | null = null;
  readonly #tally: ExposureTally;
  readonly #live: LiveListening;
  #loopback: LoopbackRun | null = null;

  constructor(options: ProcessorOptions, rateHz: number, post: (message: FromProcessor) => void) {
    this.#rateHz = rateHz;
    this.#post = post;
    this.#newestPlan = options.plan;
    this.#newestRevision = options.revision;
    this.#trialIn = options.trialIn;
    this.#blindTrialIn = options.trialIn;
    this.#telling = new SideTelling(options.revision, options.trialIn, post);
    this.#monitor = new Ramp(options.monitorGain);
    this.#limiter = new MonitorLimiter(rateHz);
    this.#tally = new ExposureTally(rateHz, post);
    this.#live = new LiveListening(rateHz, chunkFrames, limiterCeiling);
    this.#dip = new Dip(rateHz);
    this.#difference = new DifferencePlayer(rateHz);
    adoptModules(options.modules);
    this.#compiled = hasModules([...staticModules(), ...kernelModules(options.plan)]);
    this.#runner = new PathRunner(options.plan, 1, chunkFrames, options.revision);
    this.#warming = new Warming(this.#runner);
  }

  /** A message of the page. May allocate. */
  take(message: ToProcessor): void {
    switch (message.kind) {
      case 'connect':
        return;
      case 'programme':
        this.#quietly(silenceSeconds, () => {
          this.#loop.load(message.channels, message.region, message.frame, message.firstFrame);
          this.#renew();
        });
        return;
      case 'region':
        if (this.#loop.frame >= message.region.startFrame && this.#loop.frame < message.region.endFrame) this.#setRegion(message.region);
        else this.#quietly(silenceSeconds, () => this.#setRegion(message.region));
        return;
      case 'seek':
        this.#quietly(silenceSeconds, () => {
          this.#loop.seek(message.frame);
          this.#logPosition();
        });
        return;
      case 'play':
        this.#loopback?.stop();
        this.#playing = true;
        this.#riseSeconds = startSeconds;
        this.#takeMatch();
        if (this.#whenQuiet === null && !this.#toneOn) this.#rise();
        return;
      case 'pause':
        this.#loopback?.stop();
        this.#playing = false;
        this.#takeMatch();
        this.#quietly(startSeconds, () => this.#endTone());
        return;
      case 'switch':
        // The page repeats what is in force when a node is new; that is no switch.
        if (this.blind || message.trialIn === this.#trialIn) return;
        this.#switch(message.trialIn);
        this.#log({ kind: 'switch', trialIn: message.trialIn });
        return;
      case 'blind':
        // A gain that waits for a switch would tell of the first one.
        this.#takeMatch();
        this.#telling.conceal();
        this.#heardBlind = this.#playing;
        this.#blindTrialIn = this.#trialIn;
        this.#difference.hear(false, 1);
        this.#tap?.pause();
        return;
      case 'sighted':
        this.#heardBlind = false;
        this.#telling.reveal(message.trialIn);
        if (message.trialIn !== this.#trialIn) this.#switch(message.trialIn);
        this.#log({ kind: 'switch', trialIn: message.trialIn });
        return;
      case 'difference':
      case 'hear-difference':
        if (message.kind === 'difference') this.#difference.load(message.samples);
        else this.#difference.hear(message.heard && !this.blind, message.gain);
        if (this.#ramp.value === 0) this.#difference.settle();
        return;
      case 'tap':
        this.#tap?.close();
        this.#tap = message.tap === null ? null : new SampleTap(message.tap, this.#rateHz, chunkFrames);
        return;
      case 'monitor':
        this.#monitor.moveTo(message.gain, monitorSeconds * this.#rateHz);
        return;
      case 'match':
        this.#match = { inGain: message.inGain, outGain: message.outGain, serial: message.serial };
        if (this.#ramp.value === 0) this.#takeMatch();
        return;
      case 'tone': {
        const { tone } = message;
        if (tone === null && !this.#toneOn) return;
        this.#loopback?.stop();
        this.#quietly(startSeconds, () => {
          this.#toneOn = tone !== null;
          if (tone) this.#tone.start(tone.frequencyHz, tone.peak, this.#rateHz);
          this.#renew();
        });
        return;
      }
      case 'reference-noise': {
        const begin = this.#tone.prepareNoise(message.rms, this.#rateHz);
        this.#loopback?.stop();
        this.#quietly(startSeconds, () => {
          this.#toneOn = true;
          begin();
          this.#renew();
        });
        return;
      }
      case 'live-source':
        // An input begins as Play does.
        this.#quietly(message.channels === null ? silenceSeconds : startSeconds, () => {
          this.#takeMatch();
          if (message.channels === null) this.#live.end();
          else this.#live.begin(message.channels);
          this.#renew();
        });
        return;
      case 'keep-input':
        this.#live.keepIn(message.tap);
        return;
      case 'loopback':
        this.#playing = false;
        this.#quietly(startSeconds, () => {
          this.#endTone();
          this.#loopback = new LoopbackRun(message.probe, message.peak, this.#rateHz);
        });
    }
  }

  /** Of the blind worker alone; nobody is told. A press of what sounds already dips as one of the other side does: what is heard of the press itself is the same. */
  takeBlind({ trialIn }: BlindSwitch): void {
    if (!this.blind) return;
    this.#blindTrialIn = trialIn;
    if (this.#ramp.value === 0 && this.#ramp.target === 0) this.#dip.beginSilent(this.#switchFrames);
    else this.#dip.begin(this.#switchFrames);
  }

  /** A switch that is asked for at the start of a chunk has come out whole after so many frames: the chunk in which the silence began, the landing, the fade, the ladder. */
  get #switchFrames(): number {
    return chunkFrames + landingFrames + fadeFrames(this.#rateHz) + this.#runner.latencyFrames;
  }

  get meters(): MeterBoard['frame'] {
    return this.#board.frame;
  }

  /** Nothing is told that could tell which sounds. */
  get blind(): boolean {
    return this.#telling.conceals;
  }

  #switch(trialIn: boolean): void {
    this.#trialIn = trialIn;
    this.#takeMatch();
    this.#runner.setTrialIn(trialIn);
    this.#settleAtStart();
  }

  /** A plan of the live worker; allocates its runners. */
  takePlan({ plan, revision }: ArrivedPlan): void {
    try {
      this.#runner.swap(plan, revision);
      this.#newestPlan = plan;
      this.#newestRevision = revision;
      if (this.#ramp.value === 0 && this.#ramp.target === 0 && this.#warming.done) this.#landAtRest();
      else this.#log({ kind: 'plan', revision });
    } catch (error) {
      this.#post({ kind: 'refused', revision, sentence: error instanceof Error ? error.message : String(error) });
    }
  }

  /** Fills one block of the output, any length, one or two channels; `input` is what came in with it, of as many frames or of no channel. */
  render(output: readonly Float32Array[], frames: number, input: readonly Float32Array[] = noInput): void {
    for (let at = 0; at < frames; at += chunkFrames) this.#renderChunk(output, at, Math.min(chunkFrames, frames - at), input);
  }

  #renderChunk(output: readonly Float32Array[], offset: number, frames: number, input: readonly Float32Array[]): void {
    if (!this.#warming.done) {
      this.#warm(frames);
      this.#silence(output, offset, frames);
      return;
    }
    if (this.#loopback !== null) {
      this.#runLoopback(this.#loopback, output, offset, frames, input);
      return;
    }
    if (this.#ramp.value === 0 && this.#ramp.target === 0) {
      this.#atRest();
      if (this.#ramp.target === 0) {
        this.#silence(output, offset, frames);
        return;
      }
    }
    if (this.#dip.takeSilence() && this.blind && this.#blindTrialIn !== this.#trialIn) this.#switch(this.#blindTrialIn);
    const runner = this.#runner;
    const { frame } = this.#loop;
    let wrapped = false;
    if (this.#toneOn) this.#tone.fill(this.#inputs[0]!, frames);
    else if (this.#live.on) this.#live.fill(input, offset, this.#inputs, frames);
    else wrapped = this.#loop.fill(this.#inputs, frames);
    runner.process(this.#inputs, this.#outputs, frames);
    this.#difference.mix(this.#outputs, runner.channels, frames, frame, runner.latencyFrames, !this.blind && !this.#toneOn && !this.#live.on);
    if (this.#difference.sounds) this.#telling.endLog();
    // A spectrum could tell the sides apart.
    if (this.#tap !== null && !this.blind) this.#tap.take(this.#inputs, this.#outputs, runner.channels, frames);
    // From the next chunk on: not before the loop's start.
    if (wrapped) this.#takeMatch();
    this.#putOut(output, offset, frames);
    this.#addUp(output, offset, frames);
    if (this.#live.on && this.#playing && !this.#toneOn && this.#live.howls(runner.channels, frames)) this.#muteHowl();
    this.#telling.landed(runner, this.#trialIn);
    this.#board.read(this.#loop.frame, runner, this.#limiter, this.#telling.conceals);
  }

  #putOut(output: readonly Float32Array[], offset: number, frames: number): void {
    const left = this.#outputs[0]!;
    const right = this.#runner.channels === 2 ? this.#outputs[1]! : left;
    const first = output[0]!;
    const second = output.length > 1 ? output[1]! : first;
    const { monitored } = this.#live;
    for (let i = 0; i < frames; i += 1) {
      const gain = this.#ramp.next() * this.#monitor.next() * this.#dip.next();
      const wantedLeft = left[i]! * gain;
      const wantedRight = right[i]! * gain;
      const limited = this.#limiter.gainFor(Math.max(Math.abs(wantedLeft), Math.abs(wantedRight)));
      const sampleLeft = wantedLeft * limited;
      const sampleRight = wantedRight * limited;
      first[offset + i] = sampleLeft;
      second[offset + i] = sampleRight;
      monitored[0]![i] = sampleLeft;
      monitored[1]![i] = sampleRight;
      this.#board.takePeaks(sampleLeft, sampleRight);
    }
  }

  /** What reaches ears, told once a second but for blind work. */
  #addUp(output: readonly Float32Array[], offset: number, frames: number): void {
    this.#tally.take(output[0]!, output.length > 1 ? output[1]! : output[0]!, offset, frames, this.blind);
  }

  /** Meters are read and peaks cleared by the shell once a block. */
  clearPeaks(): void {
    this.#board.clearPeaks();
  }

  /** To silence over 10 ms; it stays so until it is asked to play. */
  #muteHowl(): void {
    this.#playing = false;
    this.#riseSeconds = startSeconds;
    this.#ramp.moveTo(0, silenceSeconds * this.#rateHz);
    this.#post({ kind: 'howl', frequencyHz: this.#live.frequencyHz });
  }

  #runLoopback(loopback: LoopbackRun, output: readonly Float32Array[], offset: number, frames: number, input: readonly Float32Array[]): void {
    this.#silence(output, offset, frames);
    this.#live.takeIn(input, offset, this.#inputs, frames);
    const over = loopback.run(this.#inputs[0]!, output, offset, frames);
    this.#addUp(output, offset, frames);
    if (!over) return;
    this.#loopback = null;
    this.#post({ kind: 'looped-back', recording: loopback.complete ? loopback.recording : null });
  }

  #silence(output: readonly Float32Array[], offset: number, frames: number): void {
    this.#tap?.pause();
    this.#live.pause();
    this.#tally.rest(this.blind);
    for (let channel = 0; channel < output.length; channel += 1) output[channel]!.fill(0, offset, offset + frames);
    this.#board.rest(this.#loop.frame, this.#runner.frame);
  }

  /** Noise into the void, then frame 0. */
  #warm(frames: number): void {
    this.#warming.run(this.#runner, this.#inputs, this.#outputs, frames);
    if (!this.#warming.done) return;
    this.#landAtRest();
    this.#post({ kind: 'ready', compiled: this.#compiled });
  }

  /** The output has been silent: what waited for that is done, and sound comes back if it is wanted. */
  #atRest(): void {
    const waiting = this.#whenQuiet;
    this.#whenQuiet = null;
    if (waiting !== null) waiting();
    if (this.#playing || this.#toneOn) this.#rise();
    else if (waiting !== null) this.#post({ kind: 'quiet' });
  }

  #quietly(riseSeconds: number, action: () => void): void {
    const before = this.#whenQuiet;
    this.#riseSeconds = before === null ? riseSeconds : Math.max(riseSeconds, this.#riseSeconds);
    this.#whenQuiet = before === null ? action : () => { before(); action(); };
    if (!this.#warming.done || this.#ramp.value === 0) this.#atRest();
    else this.#ramp.moveTo(0, silenceSeconds * this.#rateHz);
  }

  #rise(): void {
    if (this.#telling.awaitsLog && !this.#difference.sounds && this.#ramp.value === 0 && this.#warming.done) this.#landAtRest();
    this.#heardBlind = this.blind;
    this.#ramp.moveTo(1, this.#riseSeconds * this.#rateHz);
    this.#riseSeconds = silenceSeconds;
  }

  #endTone(): void {
    if (!this.#toneOn) return;
    this.#toneOn = false;
    this.#renew();
  }

  /** A path from frame 0 with the channels of what plays now, or the same one reset. */
  #renew(): void {
    const channels = this.#toneOn ? 1 : this.#live.on ? this.#live.channelCount : this.#loop.channelCount;
    if (this.#runner.channels !== channels) this.#runner = new PathRunner(this.#newestPlan, channels, chunkFrames, this.#newestRevision);
    this.#runner.setMatchGains(this.#matchInForce);
    this.#landAtRest();
  }

  #landAtRest(): void {
    this.#runner.setTrialIn(this.#trialIn);
    this.#runner.reset();
    this.#telling.began(this.#runner, this.#trialIn, this.#matchInForce, this.#toneOn, this.#live.on, this.#position());
  }

  /** At frame 0 nothing need fade. */
  #settleAtStart(): void {
    if (this.#runner.frame === 0 && this.#warming.done) this.#runner.reset();
  }

  #log(change: LoggedRequest): void {
    if (this.#warming.done) this.#telling.log(this.#runner.frame, change);
  }

  #position(): LoopPosition {
    return { positionFrame: this.#loop.frame, startFrame: this.#loop.startFrame, endFrame: this.#loop.endFrame };
  }

  #logPosition(): void {
    this.#log({ kind: 'position', ...this.#position() });
  }

  #setRegion(region: RegionFrames): void {
    this.#loop.setRegion(region);
    this.#logPosition();
  }

  #takeMatch(): void {
    const match = this.#match;
    if (match === null || this.#heardBlind) return;
    this.#match = null;
    this.#matchInForce = match;
    this.#runner.setMatchGains(match);
    this.#log({ kind: 'match', inGain: match.inGain, outGain: match.outGain });
    this.#settleAtStart();
    this.#post({ kind: 'match-applied', serial: match.serial, frame: this.#runner.frame });
  }
}
