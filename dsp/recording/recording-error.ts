/** What is wrong with a recording, in one sentence: where it is, what was expected, what was found. */
export class RecordingError extends Error {
  override readonly name = 'RecordingError';
}
