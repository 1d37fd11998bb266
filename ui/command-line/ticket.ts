/** `ticket`: what a ticket's two sides said, what changed between its entries, and whether its figures are still those of its settings. */
import { judgeOrder, shownOrders } from '../../dsp/measure/index.ts';
import { parseWavHeader } from '../../dsp/recording/index.ts';
import { changeLine, largestMovementDb, lineWords, lowestMeasuredDb, maximumTicketLength, orderChanges, orderLevelWords, parseTicketFile, pathChanges } from '../../dsp/setting/index.ts';
import type { ChangeLine, Measurement, OrderChange, Setting, Ticket, TicketEntry, TicketFile } from '../../dsp/setting/index.ts';
import { readWords } from './arguments.ts';
import type { Options } from './arguments.ts';
import { exitCodes, InputFailure } from './failure.ts';
import { measureAt } from './measure-at.ts';
import type { Tone } from './measure-at.ts';
import { plain } from './plain.ts';
import { Progress } from './progress.ts';
import { readRecordFile } from './record-text.ts';
import { print, printJson } from './table.ts';
import { writeAside } from './write-aside.ts';

export const ticketHelp = `ticket    FILE [--setting N --out FILE] [--excerpt FILE] [--json]

A ticket is one moment of a recording with the setting it was heard through, and every answer. Prints what was said, what changed from entry to
entry value by value and order by order, measured again now. Exit code 1 if a checksum does not agree with what it stands for, or a figure
stored in it is more than 0.1 dB from what its setting measures now.
  --setting N     writes the setting of the Nth entry to --out, byte for byte as it was frozen
  --out FILE      where that setting goes
  --excerpt FILE  writes the recording that the ticket carries as a WAV file`;

const options = { setting: { type: 'string' }, out: { type: 'string' }, excerpt: { type: 'string' }, json: { type: 'boolean' } } as const satisfies Options;

/** Of entries that nothing was measured of. */
const usualTone: Tone = { frequencyHz: 200, levelDbu: 4 };
/** Stored figures are rounded to a thousandth; a tenth is what a change of the bench may not exceed unseen. */
const toleranceDb = 0.1;

export async function ticket(args: readonly string[]): Promise<number> {
  const words = readWords('ticket', args, options, 1);
  const path = words.positionals[0]!;
  const file = await readRecordFile(path, 'a ticket', maximumTicketLength, parseTicketFile);
  const written = [...await writeSettingOf(file.ticket, words.text('setting'), words.text('out')), ...await writeExcerpt(path, file.ticket, words.text('excerpt'))];
  const looked = lookAt(file.ticket);
  const passes = file.disagreements.length === 0 && looked.every(({ passes: good }) => good);
  if (words.flag('json')) printJson(jsonOf(file, looked, passes));
  else printExchange(file, looked);
  if (!words.flag('json')) for (const line of written) print(line);
  return passes ? exitCodes.good : exitCodes.checkFailed;
}

async function writeSettingOf({ entries }: Ticket, place: string | undefined, out: string | undefined): Promise<string[]> {
  if ((place === undefined) !== (out === undefined)) throw new InputFailure(`ticket: expected --setting N and --out FILE together, got ${place === undefined ? '--out' : '--setting'} alone`);
  if (place === undefined || out === undefined) return [];
  const entry = entries[Number(place) - 1];
  if (!entry) throw new InputFailure(`--setting: expected a whole number from 1 to ${entries.length}, got ${place}`);
  await writeAside(out, entry.made.text);
  return [`setting ${place} written to ${out}`];
}

async function writeExcerpt(path: string, { excerptWav }: Ticket, out: string | undefined): Promise<string[]> {
  if (out === undefined) return [];
  if (!excerptWav) throw new InputFailure(`${path}: expected an excerpt for --excerpt, got a ticket without one`);
  await writeAside(out, excerptWav);
  return [`excerpt written to ${out}`];
}

/** One entry, measured again and held against what it says and against the entry before it. */
interface Looked {
  readonly measured: Measurement | null;
  /** Null: nothing was stored, or nothing can be measured. */
  readonly movementDb: number | null;
  readonly passes: boolean;
  readonly changes: readonly ChangeLine[];
  readonly orders: readonly OrderChange[];
}

function lookAt({ entries }: Ticket): Looked[] {
  const common = entries.find(({ measurement }) => measurement !== null)?.measurement ?? usualTone;
  const progress = new Progress('measuring');
  const found = entries.map(({ made }, index) => {
    progress.report(index / entries.length);
    return measure(made.setting, common);
  });
  const looked = entries.map(({ measurement, made }, index): Looked => {
    const measured = found[index]!;
    const before = entries[index - 1];
    const same = measurement !== null && sameTone(measurement, common) ? measured : measurement && measure(made.setting, measurement);
    const movementDb = measurement && same ? largestMovementDb(measurement, same) : null;
    return {
      measured, movementDb,
      passes: measurement === null || (movementDb !== null && movementDb <= toleranceDb),
      changes: before ? pathChanges(before.made.setting.path, made.setting.path).map(changeLine) : [],
      orders: before ? orderChanges(found[index - 1]!, measured) ?? [] : [],
    };
  });
  progress.done();
  return looked;
}

function sameTone(a: Tone, b: Tone): boolean {
  return a.frequencyHz === b.frequencyHz && a.levelDbu === b.levelDbu;
}

/** Null: the path oscillates. */
function measure(setting: Setting, { frequencyHz, levelDbu }: Tone): Measurement | null {
  const found = measureAt(setting, { frequencyHz, levelDbu }, shownOrders);
  if (found.oscillates) return null;
  return { frequencyHz: found.frequencyHz, levelDbu, fundamentalDbu: found.fundamentalDbu, orders: found.harmonics.map(({ order, db }) => ({ order, db: Math.max(db, lowestMeasuredDb) })) };
}

function jsonOf({ ticket: { title, programme, region, excerptWav, entries }, disagreements }: TicketFile, looked: readonly Looked[], passes: boolean): object {
  return {
    title, programme, region, excerptSeconds: excerptWav && excerptSeconds(excerptWav), passes, disagreements,
    entries: entries.map(({ date, words, verdict, measurement, made }, index) => ({ date, words, verdict, settingSha256: made.sha256, settingTitle: made.setting.title, stored: measurement, ...looked[index]! })),
  };
}

function printExchange({ ticket: { title, programme, region, excerptWav, entries }, disagreements }: TicketFile, looked: readonly Looked[]): void {
  print(plain(title));
  print(programme === null ? 'no recording was loaded'
    : `${plain(programme.title)}, ${region ? `${region.startSeconds.toFixed(2)} to ${region.endSeconds.toFixed(2)} s` : 'the whole of it'}, at ${programme.rateHz} Hz${programme.trimDb === 0 ? '' : `, turned down by ${-programme.trimDb} dB`}`);
  if (programme?.sha256) print(`recording sha256 ${programme.sha256}`);
  if (excerptWav) print(`carries an excerpt of ${excerptSeconds(excerptWav).toFixed(2)} s`);
  entries.forEach((entry, index) => printEntry(entry, looked[index]!, index));
  for (const sentence of disagreements) print(`DISAGREES ${plain(sentence)}`);
}

function printEntry({ date, words, verdict, made }: TicketEntry, { measured, movementDb, passes, changes, orders }: Looked, index: number): void {
  print(`\n${index + 1}  ${date}  ${verdict ?? 'no verdict'}`);
  for (const line of words === '' ? [] : words.split('\n')) print(`   ${plain(line)}`);
  print(`   setting ${plain(made.setting.title)}, sha256 ${made.sha256}`);
  if (measured === null) print('   oscillates or is bistable: no harmonics');
  else print(`   ${measured.frequencyHz.toFixed(1)} Hz at ${measured.levelDbu} dBu: ${measured.orders.map(({ order, db }) => `H${order} ${orderLevelWords(db)}`).join(', ')}`);
  if (!passes) print(`   MOVED: the figures stored are ${movementDb === null ? 'of a path that can no longer be measured' : `up to ${movementDb.toFixed(2)} dB from these`}`);
  for (const line of changes) print(`   ${lineWords(line)}`);
  for (const { order, wasDb, nowDb } of orders) {
    const { word } = judgeOrder(order);
    print(`   H${order}${word === '' ? '' : ` (commonly judged ${word})`}: was ${orderLevelWords(wasDb)}, now ${orderLevelWords(nowDb)}`);
  }
}

function excerptSeconds(wav: Uint8Array): number {
  const header = parseWavHeader(wav);
  return header.kind === 'format' ? header.format.frameCount! / header.format.rateHz : 0;
}
