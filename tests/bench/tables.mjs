// The figures of the bench as lines for people.
const cell = (value, digits, width) => (value === null || value === undefined ? '–' : value.toFixed(digits)).padStart(width);

/** @returns {string[]} */
export function renderTables({ figures, node, chromium, machine }) {
  const { chain, render } = figures;
  return [
    `${machine.model}, ${machine.cores} cores, load ${machine.loadBefore.toFixed(1)} before and ${machine.loadAfter.toFixed(1)} after; processor time, medians of alternating rounds`,
    '',
    'Kernels, both channels at once, 1 kHz at nominal level, 48 kHz × 8, rule T1 (with a core S1): ns per internal sample and channel',
    `  ${''.padEnd(18)}WebAssembly     C++ -O3   ratio   C++ native, two lanes   ratio   evaluations   differing samples`,
    ...Object.entries({ ...node.kernels, ...node.cores }).map(([name, kernel]) => `  ${name.padEnd(18)}${cell(kernel.nsPerSample, 1, 11)}${cell(kernel.cppO3, 1, 12)}${cell(kernel.ratioToCppO3, 2, 8)}${cell(kernel.cppNativeTwoLane, 1, 24)}${cell(kernel.ratioToCppNativeTwoLane, 2, 8)}${cell(kernel.evaluationsPerSample, 2, 14)}${cell(kernel.differingSamples, 0, 20)}`),
    '',
    'Chain common emitter → op-amp loop → push-pull → transformer and line → common emitter, stereo, blocks of 128 frames: times real time',
    `  ${'in Node'.padEnd(30)}T1${cell(chain.realTimeT1, 2, 7)}   listening${cell(chain.realTimeListening, 2, 7)}   (${node.chain.listeningRules.join(', ')})`,
    chromium === null ? '  in a Chromium audio worklet: not measured'
      : `  ${'in a Chromium audio worklet'.padEnd(30)}T1${cell(chromium.realTimeT1, 2, 7)}   listening${cell(chromium.realTimeListening, 2, 7)}   late blocks ${chromium.lateBlocks} of ${chromium.playedBlocks}; ${chromium.chainsWithoutLateBlocks ?? 'not even one'} at once without a late block; longest of the first 50 blocks ${chromium.longestFirstMilliseconds} ms by a clock of whole ones`,
    ...node.chain.firstBlocks.map(({ start, change }, k) => `  cold start ${k + 1}: longest of the first 50 blocks ${start.toFixed(2)} of the block's time; after a change of topology ${change.toFixed(2)}`),
    '',
    'Stages at their default values, stereo, +4 dBu, by the rule that plays: ns per internal sample and channel',
    ...node.stages.map(({ stage, rule, nsPerSample }) => `  ${stage.padEnd(28)}${(rule ?? '').padEnd(6)}${cell(nsPerSample, 1, 7)}`),
    `  opening path, stereo: ${node.paths.opening.toFixed(2)} × real time; path of ten stages: ${node.paths.tenStages.toFixed(2)} ×`,
    '',
    'Harmonics against level, opening path, 61 levels, H2–H10, one worker: milliseconds, and between two yields at the most',
    ...sweepLines(node.levelSweep),
    '',
    `render of the opening setting: ${cell(render.realTimePerCore, 2, 0)} × real time a core, start included; a folder by two workers: ${cell(render.twoWorkersRatio, 2, 0)} × one`,
    '',
    ...simulatorLines(node.simulator),
  ];
}

function sweepLines({ cold, sweeps }) {
  const line = (name, { totalMilliseconds, firstPointsMilliseconds, longestStepMilliseconds }) =>
    `  ${name.padEnd(28)}all${cell(totalMilliseconds, 0, 7)}   first points${cell(firstPointsMilliseconds, 1, 7)}   longest step${cell(longestStepMilliseconds, 1, 7)}`;
  return [line('1 kHz, first of a process', cold), ...sweeps.map((sweep) => line(`${sweep.frequencyHz} Hz`, sweep))];
}

function simulatorLines({ at1kHz, at10kHz }) {
  if (at1kHz === null) return ['General-purpose circuit simulator: none installed'];
  const lines = [...at1kHz, ...at10kHz].map(({ circuit, frequencyHz, rule, factor, errorDb, seconds, settings, simulatorErrorDb, simulatorSeconds, ratio }) =>
    `  ${circuit.padEnd(18)}${String(frequencyHz).padStart(6)} Hz   ${rule} × ${factor}, ${errorDb.toFixed(4)} dB, ${seconds.toFixed(4)} s   ${settings.method} ${settings.tolerance} ${settings.stepsPerPeriod} steps, ${simulatorErrorDb.toFixed(4)} dB, ${simulatorSeconds.toFixed(2)} s   ${ratio.toFixed(1)} ×`);
  return ['General-purpose circuit simulator, H2–H5 within 0.01 dB of converged at nominal level and at 1 % of distortion: processor seconds for a second of sound', ...lines];
}
