// node demo-audio/make/render.mjs [SOUNDFONT]: from score.json to seven WAV loops, loops.json and the table in README.md.
import { spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { midiFile } from './midi.mjs';
import { fadeGain, fold, placeGains, rms, soften, swellDbAt, withoutMean } from './mix.mjs';
import { recording } from './own-dsp.mjs';
import { leadInBeats, performPart } from './performance.mjs';
import { figures, tableOf } from './figures.mjs';

const rateHz = 48_000;
/** Root-mean-square of a loop, where a full-scale sine reads 0 dBFS. */
const nominalDbfs = -20;
const highestPeakDbfs = -1;
const soundfont = process.argv[2] ?? '/usr/share/sounds/sf2/FluidR3_GM.sf2';
const folder = fileURLToPath(new URL('..', import.meta.url));
const workFolder = fileURLToPath(new URL('../../dist/demo-audio/', import.meta.url));
mkdirSync(workFolder, { recursive: true });

const score = JSON.parse(readFileSync(`${folder}score.json`, 'utf8'));
const ratioOf = (db) => 10 ** (db / 20);

/** One part of one piece as left and right loops, at its level in the mix. */
function renderPart(piece, part, seed) {
  const name = `${piece.identifier}-${part.instrument.replace(' ', '-')}`;
  writeFileSync(`${workFolder}${name}.mid`, midiFile(performPart(piece, part, seed), piece.beatsPerMinute));
  // Dry: reverberation and chorus off. Float samples: nothing is clipped or rounded before the mix.
  const run = spawnSync('fluidsynth', ['-n', '-i', '-q', '-R', '0', '-C', '0', '-r', String(rateHz), '-g', '0.4', '-T', 'wav', '-O', 'float',
    '-F', `${workFolder}${name}.wav`, soundfont, `${workFolder}${name}.mid`], { encoding: 'utf8' });
  if (run.status !== 0) throw new Error(`fluidsynth: ${run.error ?? run.stderr}`);
  const { channels } = recording.parseWholeRecording(readFileSync(`${workFolder}${name}.wav`));

  const framesPerBeat = (rateHz * 60) / piece.beatsPerMinute;
  const frames = piece.bars * piece.beatsPerBar * framesPerBeat;
  const first = Math.round(leadInBeats * framesPerBeat);
  const loops = channels.map((channel) => {
    const shaped = part.overlapBeats === undefined ? channel : channel.map((sample, i) =>
      (i < first ? 0 : sample * fadeGain(i - first, frames + part.overlapBeats * framesPerBeat, part.overlapBeats * framesPerBeat)));
    const folded = withoutMean(fold(shaped, first, frames));
    const loop = part.softenHz === undefined ? folded : soften(folded, part.softenHz, rateHz);
    return part.swellDb === undefined ? loop : loop.map((sample, i) => sample * ratioOf(swellDbAt(part.swellDb, i / framesPerBeat)));
  });
  const gain = ratioOf(part.levelDb) / rms(loops);
  return loops.map((loop) => loop.map((sample) => sample * gain));
}

/** The piece's parts in their places, as left and right. */
function renderPiece(piece, pieceIndex) {
  const mix = [null, null];
  piece.parts.forEach((part, partIndex) => {
    const loops = renderPart(piece, part, score.seed + 100 * pieceIndex + partIndex);
    const gains = placeGains(part.pan);
    mix.forEach((sum, channel) => {
      const placed = loops[channel].map((sample) => sample * gains[channel]);
      mix[channel] = sum === null ? placed : sum.map((sample, i) => sample + placed[i]);
    });
  });
  return mix;
}

const pieces = new Map(score.pieces.map((piece, index) => [piece.identifier, { piece, mix: renderPiece(piece, index) }]));
const list = [];
for (const loop of score.loops) {
  const { piece, mix } = pieces.get(loop.piece);
  const channels = loop.channels === 2 ? mix : [mix[0].map((sample, i) => (sample + mix[1][i]) / 2)];
  const gain = ratioOf(nominalDbfs) / (Math.SQRT2 * rms(channels));
  const scaled = channels.map((channel) => withoutMean(channel).map((sample) => sample * gain));
  const counts = { clippedSamples: 0, notNumberSamples: 0 };
  const bytes = recording.encodeWholeWav({ encoding: 'pcm24', channelCount: loop.channels, rateHz }, scaled, counts);
  const file = `${loop.identifier}.wav`;
  const measured = figures(bytes);
  if (!(measured.peakDbfs < highestPeakDbfs) || counts.clippedSamples + counts.notNumberSamples > 0) {
    throw new Error(`${file}: expected a peak below ${highestPeakDbfs} dBFS, got ${measured.peakDbfs}`);
  }
  writeFileSync(`${folder}${file}`, bytes);
  list.push({
    file, identifier: loop.identifier, title: piece.title, instruments: piece.parts.map((part) => part.instrument), shows: loop.shows, channels: loop.channels,
    durationSeconds: scaled[0].length / rateHz, bars: piece.bars, beatsPerBar: piece.beatsPerBar, beatsPerMinute: piece.beatsPerMinute,
  });
  console.log(file, measured);
}
writeFileSync(`${folder}loops.json`, `${JSON.stringify(list, null, 2)}\n`);

const readme = readFileSync(`${folder}README.md`, 'utf8');
const tableStart = readme.indexOf('<!-- figures -->\n') + '<!-- figures -->\n'.length;
const tableEnd = readme.indexOf('<!-- end of figures -->');
if (tableEnd < tableStart) throw new Error('README.md: expected "<!-- figures -->" before "<!-- end of figures -->"');
writeFileSync(`${folder}README.md`, `${readme.slice(0, tableStart)}${tableOf(list, (file) => readFileSync(`${folder}${file}`))}${readme.slice(tableEnd)}`);
