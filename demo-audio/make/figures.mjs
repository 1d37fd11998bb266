// The figures of a loop, measured by the bench's own code on the file as it lies there.
import { rms } from './mix.mjs';
import { listening, recording } from './own-dsp.mjs';

/** Peak, r.m.s. (a full-scale sine reads 0 dBFS), loudness and true peak of a WAV file's bytes; the loop is measured as it repeats (its second pass). */
export function figures(bytes) {
  const { format, channels } = recording.parseWholeRecording(bytes);
  const frames = channels[0].length;
  const meter = new listening.LoudnessMeter(format.rateHz, channels.length);
  const peak = new listening.TruePeakMeter(channels.length);
  for (let pass = 0; pass < 2; pass += 1) {
    meter.restart();
    meter.push(channels, 0, frames);
    peak.push(channels, 0, frames);
  }
  return {
    rateHz: format.rateHz,
    peakDbfs: peak.samplePeakDb,
    truePeakDbfs: peak.truePeakDb,
    rmsDbfs: recording.rmsToDbfs(rms(channels)),
    loudnessLufs: meter.integratedLufs(),
  };
}

/** The README's table. */
export function tableOf(list, bytesOf) {
  const lines = [
    '| file | instruments | what it shows | channels | seconds | rate | peak dBFS | true peak dBFS | RMS dBFS | loudness LUFS |',
    '|---|---|---|---|---|---|---|---|---|---|',
  ];
  for (const loop of list) {
    const m = figures(bytesOf(loop.file));
    const cells = [`\`${loop.file}\``, loop.instruments.join(', '), loop.shows, loop.channels, loop.durationSeconds, `${m.rateHz / 1000} kHz`,
      m.peakDbfs.toFixed(2), m.truePeakDbfs.toFixed(2), m.rmsDbfs.toFixed(2), m.loudnessLufs.toFixed(2)];
    lines.push(`| ${cells.join(' | ')} |`);
  }
  return `${lines.join('\n').replaceAll('-', (dash, offset, text) => (/[\s|]/.test(text[offset - 1]) && /\d/.test(text[offset + 1]) ? '−' : dash))}\n`;
}
