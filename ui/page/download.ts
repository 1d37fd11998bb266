/** Offers bytes or text for saving, through a link that is pressed at once. */
export function download(content: string | Uint8Array<ArrayBuffer>, fileName: string, type: string): void {
  const address = URL.createObjectURL(new Blob([content], { type }));
  const link = document.createElement('a');
  link.href = address;
  link.download = fileName;
  link.click();
  // The download starts in a later task; the address must live until then.
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}
