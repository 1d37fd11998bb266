/** `measure --recording`: a test tone or signal that was recorded as it came out of a device. */
import { readFile } from 'node:fs/promises';
import { basename } from 'node:path';
import { recordedDistortion, recordedIntermodulation, type Figure, type RecordedSignal } from '../../dsp/measure/figures/index.ts';
import { intermodulationSignals } from '../../dsp/measure/tones/index.ts';
import { parseWholeRecording } from '../../dsp/recording/index.ts';
import type { Words } from './arguments.ts';
import { exitCodes, InputFailure } from './failure.ts';
import { giveFigure } from './figure-output.ts';

/** What belongs to a path, not to a recording. */
const ofPaths = ['circuit', 'setting', 'rate', 'oversampling', 'stage', 'level-dbu', 'peak-volts', 'orders', 'steps'];

/** Prints the figure of one channel. @throws InputFailure, RecordingError */
export async function measureRecording(words: Words): Promise<number> {
  const stray = ofPaths.find((option) => words.text(option) !== undefined) ?? ['multitone', 'through-ladder'].find((option) => words.flag(option));
  if (stray !== undefined) throw new InputFailure(`measure: --recording does not take --${stray}`);
  const id = words.text('intermodulation');
  if ((id !== undefined) === words.flag('figures')) throw new InputFailure(`measure: expected --figures or --intermodulation NAME with --recording, got ${id === undefined ? 'neither' : 'both'}`);
  const signal = await readSignal(words);
  try {
    await giveFigure(id === undefined ? distortion(signal, words) : intermodulation(signal, id, words), words);
    return exitCodes.good;
  } catch (error) {
    // A meter's sentence: silence, clipped, another tone.
    if (error instanceof RangeError) throw new InputFailure(error.message);
    throw error;
  }
}

async function readSignal(words: Words): Promise<RecordedSignal> {
  const path = words.required('recording');
  const { format, channels } = parseWholeRecording(await readFile(path));
  const channel = words.number('channel', { minimum: 1, maximum: channels.length, otherwise: 1 });
  const samples = channels[channel - 1];
  if (samples === undefined) throw new InputFailure(`--channel: expected a whole number from 1 to ${channels.length}, got ${channel}`);
  return { title: channels.length === 1 ? basename(path) : `${basename(path)}, channel ${channel}`, samples, rateHz: format.rateHz };
}

function distortion(signal: RecordedSignal, words: Words): Figure {
  const highestHz = signal.rateHz / 4;
  return recordedDistortion(signal, words.number('frequency', { minimum: 10, maximum: highestHz, otherwise: Math.min(1000, highestHz) }), words.number('highest-order', { minimum: 2, maximum: 50, otherwise: 10 }));
}

function intermodulation(signal: RecordedSignal, id: string, words: Words): Figure {
  const stray = ['frequency', 'highest-order'].find((option) => words.text(option) !== undefined);
  if (stray !== undefined) throw new InputFailure(`measure: --intermodulation does not take --${stray}`);
  const test = intermodulationSignals.find((known) => known.id === id);
  if (test === undefined) throw new InputFailure(`--intermodulation: expected one of ${intermodulationSignals.map((known) => known.id).join(', ')}, got ${id}`);
  return recordedIntermodulation(signal, test);
}
