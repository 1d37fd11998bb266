/**
 * Fades as they are heard, measured on what is rendered. Sighted: a switch is a crossfade, the same in each direction, on one grid, without a click, a dip or a bump; where nothing changes it
 * leaves no trace. Blind: every press performs the same act, whichever side comes next, so that level, spectrum and timing of the press tell nothing.
 */
import { beforeAll, describe, expect, it } from 'vitest';
import { matchPathInSteps } from '../../dsp/measure/index.ts';
import { fadeFrames, fadeWeights, landingFrames, PathRunner, type MatchGains, type OnTrial, type PathPlan } from '../../dsp/path/index.ts';
import { openingSetting } from '../../dsp/setting/index.ts';
import { BenchPlayer, chunkFrames } from '../../worklets/audio/bench-player.ts';
import { Dip } from '../../worklets/audio/dip.ts';
import { installCompiledCode } from '../../worklets/compiled-code.ts';
import { firstDifference, largestDifference, nominalPeak, pathOf, planOf, plucked, rateHz, sine, toDb } from './support.ts';

beforeAll(() => { installCompiledCode(true); });

const fade = fadeFrames(rateHz);
const path = { ...openingSetting().path, oversamplingFactor: 2 } as const;
const untouched: MatchGains = { inGain: 1, outGain: 1 };

interface Played {
  readonly plan: PathPlan;
  readonly input: Float64Array;
  readonly trialIn: boolean;
  readonly gains?: MatchGains;
  /** Asked for once so many frames have been played. */
  readonly switches?: readonly { readonly frame: number; readonly trialIn: boolean }[];
}

/** A path that plays one channel, switched as asked. */
function played({ plan, input, trialIn, gains = untouched, switches = [] }: Played): Float64Array {
  const runner = new PathRunner(plan, 1, 1024);
  runner.setTrialIn(trialIn);
  runner.setMatchGains(gains);
  runner.reset();
  const output = new Float64Array(input.length);
  let at = 0;
  for (const until of [...switches.map(({ frame }) => frame), input.length]) {
    runner.process([input.subarray(at, until)], [output.subarray(at, until)], until - at);
    const asked = switches.find(({ frame }) => frame === until);
    if (asked) runner.setTrialIn(asked.trialIn);
    at = until;
  }
  return output;
}

function matchedGains(onTrial: OnTrial, input: Float64Array): MatchGains {
  const steps = matchPathInSteps({ path, baseRateHz: rateHz, onTrial, channels: [input] });
  for (let step = steps.next(); ; step = steps.next()) {
    if (!step.done) continue;
    if (step.value.kind !== 'matched') throw new Error(step.value.sentence);
    return { inGain: 10 ** (step.value.inGainDb / 20), outGain: 10 ** (step.value.outGainDb / 20) };
  }
}

const meanSquare = (samples: Float64Array, from = 0, to = samples.length): number => {
  let sum = 0;
  for (let i = from; i < to; i += 1) sum += samples[i]! ** 2;
  return sum / (to - from);
};

/** Energy of the second difference four times over: a high-pass of 48 dB an octave in which a click of any kind stands out from tones below 1 kHz. */
function edgeEnergy(samples: Float64Array, from: number, to: number): number {
  let rest = samples.slice(from, to);
  for (let round = 0; round < 4; round += 1) rest = rest.slice(2).map((_, i) => rest[i]! - 2 * rest[i + 1]! + rest[i + 2]!);
  return Math.max(...rest.map(Math.abs));
}

describe('a switch that is seen', () => {
  const straight = planOf(pathOf([]));

  it('leaves no trace where both sides are the same: under −280 dB, and none at all where the same side is asked for again', () => {
    const input = plucked(24_000);
    const steady = played({ plan: straight, input, trialIn: true });
    expect(firstDifference(played({ plan: straight, input, trialIn: true, switches: [{ frame: 9000, trialIn: true }] }), steady)).toBe(-1);
    const switched = played({ plan: straight, input, trialIn: true, switches: [{ frame: 9000, trialIn: false }] });
    const apartDb = toDb(largestDifference(switched, steady) / Math.sqrt(meanSquare(steady)));
    // Rounding of weights that sum to 1 and of volts per sample.
    expect(apartDb <= -280, `${apartDb} dB`).toBe(true);
  });

  it('has mirrored envelopes of one length, on one grid, whenever it is asked for', () => {
    const input = new Float64Array(4096).fill(0.5);
    // Out is silent: what is left is the envelope of the fade itself.
    const gains = { inGain: 1, outGain: 0 };
    const weights = fadeWeights(fade);
    const steady = played({ plan: straight, input, trialIn: true });
    for (const asked of [1024, 1025, 1055, 1056, 2000]) {
      const begins = Math.ceil(asked / landingFrames) * landingFrames;
      const out = played({ plan: straight, input, trialIn: true, gains, switches: [{ frame: asked, trialIn: false }] });
      const back = played({ plan: straight, input, trialIn: false, gains, switches: [{ frame: asked, trialIn: true }] });
      for (let k = 0; k < fade; k += 1) {
        const [falling, rising] = [out[begins + k]! / steady[begins + k]!, back[begins + k]! / steady[begins + k]!];
        if (!(Math.abs(falling + rising - 1) <= 1e-9)) throw new Error(`asked at ${asked}, ${k} frames in: ${falling} and ${rising} sum to ${falling + rising}`);
        if (!(Math.abs(rising - weights[k + 1]!) <= 1e-9)) throw new Error(`asked at ${asked}, ${k} frames in: ${rising}, expected ${weights[k + 1]}`);
      }
      expect([out[begins - 1], Math.abs(back[begins - 1]!)]).toEqual([steady[begins - 1], 0]);
      expect([Math.abs(out[begins + fade]!), back[begins + fade]]).toEqual([0, steady[begins + fade]]);
    }
  });

  it.each<[string, OnTrial]>([
    ['whole path', { kind: 'path' }], ['a stage', { kind: 'stage', key: 's2' }], ['one mechanism', { kind: 'without', key: 's2', mechanism: 'crossover' }],
  ])('makes no click, dip or bump between two level-matched sides: %s', (_, onTrial) => {
    const input = sine(220, 2 * nominalPeak, 72_000);
    const gains = matchedGains(onTrial, input);
    const plan = planOf(path, onTrial);
    const sides = { in: played({ plan, input, trialIn: true, gains }), out: played({ plan, input, trialIn: false, gains }) };
    const frame = 60_000;
    for (const [way, trialIn] of [['in to out', true], ['out to in', false]] as const) {
      const heard = played({ plan, input, trialIn, gains, switches: [{ frame, trialIn: !trialIn }] });
      const [from, to] = [frame - 480, frame + 3 * fade];
      const own = Math.max(edgeEnergy(sides.in, from, to), edgeEnergy(sides.out, from, to));
      const aboveOwnDb = toDb(edgeEnergy(heard, from, to) / own);
      // Both sides have distortion of their own in that band: a switch never has 1 dB more than the richer one.
      expect(aboveOwnDb <= 1, `${way}: ${aboveOwnDb} dB over the richer side`).toBe(true);
      // Two periods at a time, stepped by an eighth of one: between the levels of the sides and 0.1 dB to either side of them.
      const period = rateHz / 110;
      for (let at = from; at + period < to; at += period / 16) {
        const level = (samples: Float64Array): number => toDb(Math.sqrt(meanSquare(samples, Math.round(at), Math.round(at + period))));
        const [inDb, outDb, heardDb] = [level(sides.in), level(sides.out), level(heard)];
        const off = Math.max(heardDb - Math.max(inDb, outDb), Math.min(inDb, outDb) - heardDb);
        if (!(off <= 0.1)) throw new Error(`${way}, ${Math.round(at - frame)} frames from the switch: ${heardDb} dB beside ${inDb} and ${outDb} dB`);
      }
    }
  });
});

describe('a press in blind work', () => {
  const { port1 } = new MessageChannel();
  port1.close();
  /** A multiple of the chunk: every press comes between two chunks. */
  const pressed = 40 * chunkFrames;
  const total = 80 * chunkFrames;

  /** Both sides settle for a second before the press is recorded. */
  function heard(plan: PathPlan, loop: Float64Array, sounding: boolean, press: boolean | null, gains = untouched): Float32Array {
    const player = new BenchPlayer({ plan, revision: 1, trialIn: sounding, monitorGain: 1, meters: null, modules: [] }, rateHz, () => undefined);
    const block = new Float32Array(chunkFrames);
    const run = (frames: number): Float32Array => {
      const kept = new Float32Array(frames);
      for (let at = 0; at < frames; at += chunkFrames) {
        player.render([block], chunkFrames);
        kept.set(block, at);
      }
      return kept;
    };
    run(40 * chunkFrames);
    player.take({ kind: 'match', ...gains, serial: 1 });
    player.take({ kind: 'programme', channels: [loop], region: { startFrame: 0, endFrame: loop.length }, frame: 0 });
    player.take({ kind: 'play' });
    player.take({ kind: 'blind', port: port1 });
    run(200 * chunkFrames);
    const before = run(pressed);
    if (press !== null) player.takeBlind({ kind: 'hear', trialIn: press });
    const output = new Float32Array(total);
    output.set(before);
    output.set(run(total - pressed), pressed);
    return output;
  }

  const input = sine(220, 2 * nominalPeak, 48_000);

  it('is the same to the bit for a switch and for none where both sides are the same', () => {
    const straight = planOf(pathOf([], { oversamplingFactor: 1 }));
    const [switched, same, none] = [heard(straight, input, true, false), heard(straight, input, true, true), heard(straight, input, true, null)];
    expect(firstDifference(Float64Array.from(switched), Float64Array.from(same))).toBe(-1);
    // The act itself is heard.
    const begins = firstDifference(Float64Array.from(same), Float64Array.from(none));
    expect([begins >= pressed, begins < pressed + landingFrames]).toEqual([true, true]);
  });

  it.each<[string, OnTrial]>([['whole path', { kind: 'path' }], ['a stage', { kind: 'stage', key: 's2' }]])('tells nothing by its edges, whatever sounded and whatever comes: %s', (_, onTrial) => {
    const gains = matchedGains(onTrial, input);
    const plan = planOf(path, onTrial);
    const steady = { in: heard(plan, input, true, null, gains), out: heard(plan, input, false, null, gains) };
    const envelopes: Float64Array[] = [];
    for (const sounding of [true, false]) {
      for (const press of [true, false]) {
        const output = heard(plan, input, sounding, press, gains);
        const before = sounding ? steady.in : steady.out;
        const after = press ? steady.in : steady.out;
        const firstSilent = output.findIndex((sample, i) => i > pressed && sample === 0 && output[i + 1] === 0);
        const lastSilent = output.findLastIndex((sample) => sample === 0);
        // Up to the silence it is the side that sounded, whatever comes next; from there on the side that was asked for, whatever sounded.
        const envelope = output.map((sample, i) => {
          const [whole, peak] = i < (firstSilent + lastSilent) / 2 ? [before[i]!, sideLevel(before)] : [after[i]!, sideLevel(after)];
          // Where the tone crosses zero nothing can be read off.
          return Math.abs(whole) < 0.2 * peak ? NaN : sample / whole;
        });
        expect([firstSilent, lastSilent]).toEqual([pressed + fade - 1, pressed + fade - 1 + chunkFrames + landingFrames + fade + latencyOf(plan)]);
        envelopes.push(Float64Array.from(envelope));
      }
    }
    for (const envelope of envelopes) {
      for (let i = 0; i < total; i += 1) {
        const apart = Math.abs(envelope[i]! - envelopes[0]![i]!);
        // −60 dB of the level at that place: what the stage behind the switch still remembers of the other side.
        if (apart > 1e-3) throw new Error(`frame ${i - pressed} after the press: envelopes ${envelope[i]} and ${envelopes[0]![i]}`);
      }
    }
  });

  it('keeps the place in the music, and leaves nothing behind', () => {
    const straight = planOf(pathOf([], { oversamplingFactor: 1 }));
    const counting = Float64Array.from({ length: 48_000 }, (_, i) => 0.1 + i / 1e6);
    const output = heard(straight, counting, true, false);
    const none = heard(straight, counting, true, null);
    expect(output.subarray(total - chunkFrames)).toEqual(none.subarray(total - chunkFrames));
    expect(output.subarray(0, pressed)).toEqual(none.subarray(0, pressed));
  });

  it('is one act again when the next press comes in its middle: silence of full length after the last', () => {
    for (const again of [100, fade + 50, fade + 300]) {
      const dip = new Dip(rateHz);
      dip.begin(400);
      const gains = Array.from({ length: 4 * fade }, (_, i) => {
        if (i === again) dip.begin(400);
        return dip.next();
      });
      const silent = gains.filter((gain) => gain === 0).length;
      const rise = gains.lastIndexOf(0) + 1;
      // The fall ends in its first silent frame.
      expect([silent, rise]).toEqual(again < fade ? [401, fade + 400] : [again - fade + 1 + 400, again + 400]);
      expect(gains.slice(rise, rise + fade)).toEqual([...fadeWeights(fade).slice(1)]);
    }
  });

  function sideLevel(samples: Float32Array): number {
    return samples.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
  }

  function latencyOf(plan: PathPlan): number {
    return new PathRunner(plan, 1, chunkFrames).latencyFrames;
  }
});
