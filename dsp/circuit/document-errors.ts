/** Something about a circuit that its author can mend; the message is one sentence that names what was expected and what was found. */
export class CircuitError extends Error {
  override readonly name = 'CircuitError';
}

/** A value as an error shows it: JSON, cut short; "nothing" where there is none. */
export function shown(value: unknown): string {
  if (value === undefined) return 'nothing';
  const text = typeof value === 'number' ? String(value) : (JSON.stringify(value) ?? String(value));
  return text.length > 60 ? `${text.slice(0, 57)}…` : text;
}
