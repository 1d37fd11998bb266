/** A circuit stage running: two ideal gains round a circuit, rest voltage taken off. */
import { CircuitRunner, listeningTolerance, measuringTolerance } from '../circuit/index.ts';
import type { CarriedBias } from '../circuit/index.ts';
import type { CircuitStageProgram, SolverTolerance, StageCounters, StageRunner } from './contract.ts';
import { clearCounters, freshCounters } from './shared/counters.ts';

/** Everything but the constructor may be called from the audio callback: it allocates nothing, never throws, never waits. */
export class CircuitStageRunner implements StageRunner {
  readonly program: CircuitStageProgram;
  readonly counters: StageCounters = freshCounters();
  readonly #circuit: CircuitRunner;

  constructor(program: CircuitStageProgram, channels: number, tolerance: SolverTolerance = 'listening') {
    this.program = program;
    this.#circuit = new CircuitRunner(program.circuit, channels, tolerance === 'measuring' ? measuringTolerance : listeningTolerance);
  }

  reset(): void {
    this.#circuit.reset();
    clearCounters(this.counters);
  }

  /** Another kind of runner: starts from rest. */
  adopt(previous: StageRunner, bias: CarriedBias = 'settled'): void {
    if (previous instanceof CircuitStageRunner) this.#circuit.adopt(previous.#circuit, bias);
  }

  /** Volts in place. A sample that is not finite is taken as 0 V by the circuit, gives 0 V, and is counted. */
  process(channels: readonly Float64Array[], offset: number, frames: number): void {
    for (let channel = 0; channel < channels.length; channel += 1) this.#one(channel, channels[channel]!, offset, frames);
    this.#count(frames * channels.length);
  }

  #one(channel: number, buffer: Float64Array, offset: number, frames: number): void {
    const end = offset + frames;
    const { inputGain } = this.program;
    let start = offset;
    for (let n = offset; n < end; n += 1) {
      const volts = buffer[n]! * inputGain;
      if (volts - volts === 0) {
        buffer[n] = volts;
        continue;
      }
      this.#finite(channel, buffer, start, n - start);
      // The circuit counts what is not finite; the sample itself is muted.
      this.#circuit.process(channel, buffer, n, 1);
      buffer[n] = 0;
      start = n + 1;
    }
    this.#finite(channel, buffer, start, end - start);
  }

  #finite(channel: number, buffer: Float64Array, offset: number, frames: number): void {
    if (frames === 0) return;
    this.#circuit.process(channel, buffer, offset, frames);
    const rest = this.program.circuit.restOutputVolts;
    const { outputGain } = this.program;
    let peak = this.counters.peakOutputVolts;
    for (let n = offset; n < offset + frames; n += 1) {
      const volts = (buffer[n]! - rest) * outputGain + 0;
      buffer[n] = volts;
      const size = Math.abs(volts);
      if (size > peak) peak = size;
    }
    this.counters.peakOutputVolts = peak;
  }

  #count(samples: number): void {
    const { report, channels } = this.#circuit;
    const counters = this.counters;
    counters.samples += samples;
    counters.evaluations = 0;
    counters.rescues = 0;
    counters.capHits = 0;
    counters.nonFinite = 0;
    for (let channel = 0; channel < channels; channel += 1) {
      counters.evaluations += report.evaluations[channel]!;
      counters.rescues += report.rescues[channel]!;
      counters.capHits += report.capHits[channel]!;
      counters.nonFinite += report.nonFinite[channel]!;
    }
  }
}
