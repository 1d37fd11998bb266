/** Something the user can mend: bad input or a bad command. One sentence, exit code 2. */
export class InputFailure extends Error {
  override readonly name = 'InputFailure';
}

/** Errors of the bench that are about what it was given, not about the bench. */
const inputErrorNames = new Set(['InputFailure', 'CircuitError', 'SettingError', 'RecordingError', 'PathError', 'StageValueError']);

export const exitCodes = { good: 0, checkFailed: 1, badInput: 2 } as const;

/** The sentence to print for an error that is the input's; null for one that is ours and should show its trace. */
export function inputSentence(error: unknown): string | null {
  if (!(error instanceof Error)) return null;
  if (inputErrorNames.has(error.name)) return error.message;
  return 'code' in error && typeof error.code === 'string' && 'path' in error ? fileSentence(error.code, String(error.path)) : null;
}

function fileSentence(code: string, path: string): string {
  switch (code) {
    case 'ENOENT': return `${path}: expected a file, found none`;
    case 'EISDIR': return `${path}: expected a file, got a folder`;
    case 'ENOTDIR': return `${path}: expected a folder, got a file`;
    case 'EACCES': return `${path}: not permitted`;
    case 'ENOSPC': return `${path}: no space left`;
    default: return `${path}: ${code}`;
  }
}
