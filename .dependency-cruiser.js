// The import rule: arrows that may not exist.
const forbid = (name, from, to) => ({ name, severity: 'error', from: { path: from }, to: { path: to } });
const dspFolders = ['math', 'webassembly', 'resampling', 'recording', 'circuit', 'stages', 'listening', 'path', 'measure', 'setting'];
/** Which folders of dsp/ each folder may import (besides itself). */
const mayImport = {
  math: [],
  webassembly: ['math'],
  circuit: ['webassembly', 'math'],
  resampling: ['webassembly', 'math'],
  recording: ['math'],
  listening: ['math'],
  stages: ['circuit', 'webassembly', 'math'],
  path: ['stages', 'circuit', 'resampling', 'webassembly', 'math'],
  measure: ['path', 'stages', 'circuit', 'resampling', 'listening', 'webassembly', 'math'],
  setting: ['path', 'stages', 'circuit', 'recording', 'listening', 'math'],
};

export default {
  forbidden: [
    { name: 'no-cycles', severity: 'error', from: {}, to: { circular: true } },
    { name: 'dsp-imports-nothing-outside', severity: 'error', from: { path: '^dsp/' }, to: { pathNot: '^dsp/' } },
    forbid('worklets-import-only-dsp', '^worklets/', '^(ui|tests|demo-audio)/'),
    { name: 'audio-thread-imports-no-package', severity: 'error', from: { path: '^worklets/audio/' }, to: { pathNot: '^(worklets|dsp)/' } },
    forbid('page-does-not-import-command-line', '^ui/page/', '^ui/command-line/'),
    forbid('command-line-does-not-import-page', '^ui/command-line/', '^(ui/page|worklets)/'),
    { name: 'plots-import-dsp-and-scales', severity: 'error', from: { path: '^ui/plot/' }, to: { pathNot: '^(ui/plot|dsp|node_modules/(@types/)?d3-scale)/' } },
    { name: 'drawings-import-dsp', severity: 'error', from: { path: '^ui/drawing/' }, to: { pathNot: '^(ui/drawing|dsp)/' } },
    { name: 'documents-import-plots-drawings-and-dsp', severity: 'error', from: { path: '^ui/documents/' }, to: { pathNot: '^(ui/(documents|plot|drawing)|dsp)/' } },
    { name: 'scales-are-for-plots', severity: 'error', from: { path: '^(dsp|worklets|ui)/', pathNot: '^ui/plot/' }, to: { path: '^node_modules/(@types/)?d3-' } },
    forbid('nothing-imports-tests', '^(dsp|worklets|ui)/', '^tests/'),
    ...dspFolders.map((folder) => ({
      name: `dsp-${folder}-order`, severity: 'error', from: { path: `^dsp/${folder}/` },
      to: { path: '^dsp/', pathNot: `^dsp/(${[folder, ...mayImport[folder]].join('|')})/` },
    })),
    { name: 'stages-never-import-each-other', severity: 'error',
      from: { path: '^dsp/stages/([^/]+)/' }, to: { path: '^dsp/stages/([^/]+)/', pathNot: ['^dsp/stages/$1/', '^dsp/stages/shared/'] } },
  ],
  options: { tsPreCompilationDeps: true, tsConfig: { fileName: 'tsconfig.json' }, doNotFollow: { path: 'node_modules' }, exclude: { path: '(^dist/|\\?)' } },
};
