/** How a file is called that something with a title is written to. Pure. */

/** "village hall, first look" → "village-hall-first-look" */
export function fileStem(title: string): string {
  const stem = title.normalize('NFKD').toLowerCase().replace(/[^a-z0-9]+/g, '-').replace(/^-+|-+$/g, '').slice(0, 60).replace(/-+$/, '');
  return stem === '' ? 'setting' : stem;
}
