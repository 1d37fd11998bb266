/** The script of a demonstration page: finds its controls in the page it is in, and works them. */
import { decodeSamples, parseWavHeader } from '../../../../dsp/recording/index.ts';
import { parseBase64 } from '../../../../dsp/setting/base64.ts';
import { MomentarySwitch } from '../../momentary.ts';
import { BlindControls } from './blind-controls.ts';
import { TwoWays, type Sounds, type Way } from './two-ways.ts';

const quietestDb = -60;
const openingDb = -20;

class Player {
  readonly #element = byId('player');
  readonly #play = byId('play');
  readonly #letters = byId('letters') as HTMLInputElement;
  readonly #blind: BlindControls | null;
  readonly #held = new MomentarySwitch();
  #ways: TwoWays | null = null;
  #way: Way = 'in';
  #levelDb = openingDb;
  /** Pressed last by a pointer: Space still plays after a click, though the button has the focus. */
  #clicked: EventTarget | null = null;

  constructor() {
    const { blindTrials } = JSON.parse(byId('facts').textContent!) as { blindTrials: number | null };
    this.#blind = blindTrials === null ? null : new BlindControls(blindTrials, {
      hear: (way) => this.#hearBlind(way), began: (running) => this.#blindBegan(running),
    });
    this.#element.hidden = false;
    this.#play.addEventListener('click', () => void this.#playOrPause());
    byId('way-in').addEventListener('click', () => this.#switchTo('in'));
    byId('way-out').addEventListener('click', () => this.#switchTo('out'));
    byId('quieter').addEventListener('click', () => this.#louderBy(-1));
    byId('louder').addEventListener('click', () => this.#louderBy(1));
    document.addEventListener('pointerdown', ({ target }) => { this.#clicked = target; });
    document.addEventListener('keydown', (event) => this.#keyDown(event));
    document.addEventListener('keyup', (event) => this.#keyUp(event));
    setInterval(() => this.#drawPosition(), 250);
  }

  async #playOrPause(): Promise<void> {
    try {
      this.#ways ??= new TwoWays(soundsOfPage(), this.#levelDb);
      if (this.#ways.playing) this.#ways.silence();
      else {
        if (!this.#blind?.running) this.#ways.switchTo(this.#way);
        await this.#ways.play();
      }
      byId('error').textContent = '';
    } catch (error) {
      this.#ways?.silence();
      byId('error').textContent = `No sound: ${error instanceof Error ? error.message : String(error)}`;
    }
    this.#draw();
  }

  #silence(): void {
    this.#ways?.silence();
    this.#draw();
  }

  #switchTo(way: Way): void {
    if (this.#blind?.running) return;
    this.#way = way;
    this.#ways?.switchTo(way);
    this.#draw();
  }

  /** Every press is the same act, whichever way comes; nothing in the page follows it. */
  #hearBlind(way: Way): void {
    this.#ways ??= new TwoWays(soundsOfPage(), this.#levelDb);
    this.#ways.dipTo(way);
    if (!this.#ways.playing) void this.#playOrPause();
  }

  #blindBegan(running: boolean): void {
    byId('ways').hidden = running;
    if (!running) this.#ways?.dipTo(this.#way);
  }

  #louderBy(db: number): void {
    this.#levelDb = Math.min(0, Math.max(quietestDb, this.#levelDb + db));
    this.#ways?.setLevelDb(this.#levelDb);
    byId('level').textContent = `${this.#levelDb < 0 ? '−' : ''}${Math.abs(this.#levelDb)} dB`;
  }

  #draw(): void {
    this.#play.textContent = this.#ways?.playing ? 'Pause' : 'Play';
    byId('way-in').setAttribute('aria-pressed', String(this.#way === 'in'));
    byId('way-out').setAttribute('aria-pressed', String(this.#way === 'out'));
    this.#drawPosition();
  }

  #drawPosition(): void {
    if (!this.#ways) return;
    const { positionSeconds, seconds } = this.#ways;
    (byId('position') as HTMLProgressElement).value = positionSeconds / seconds;
    byId('position-words').textContent = `${positionSeconds.toFixed(1)} of ${seconds.toFixed(1)} s`;
  }

  #keyDown(event: KeyboardEvent): void {
    const { key, ctrlKey, altKey, metaKey, repeat, target } = event;
    if (key === 'Tab') this.#clicked = null;
    if (key === 'Escape') this.#silence();
    if (ctrlKey || altKey || metaKey) return;
    if (this.#arrow(key, target)) event.preventDefault();
    else if (key === ' ' && !this.#keepsSpace(target)) {
      event.preventDefault();
      if (!repeat) void this.#playOrPause();
    } else if (!repeat && this.#letters.checked && this.#letter(key.toLowerCase(), event.timeStamp)) event.preventDefault();
  }

  #keyUp(event: KeyboardEvent): void {
    if (event.key === ' ' && !this.#keepsSpace(event.target)) event.preventDefault();
    if (event.key.toLowerCase() !== 'c') return;
    const back = this.#held.release(event.timeStamp);
    if (back !== null) this.#switchTo(back ? 'in' : 'out');
  }

  /** Arrows belong to the page unless the focus is in the player. */
  #arrow(key: string, target: EventTarget | null): boolean {
    if (!(target instanceof Node && this.#element.contains(target))) return false;
    if (key === 'ArrowUp' || key === 'ArrowDown') this.#louderBy(key === 'ArrowUp' ? 1 : -1);
    else if (key === 'ArrowLeft' || key === 'ArrowRight') void this.#ways?.seek(this.#ways.positionSeconds + (key === 'ArrowRight' ? 1 : -1)).then(() => this.#drawPosition());
    else return false;
    return true;
  }

  #letter(key: string, nowMs: number): boolean {
    if (this.#blind?.takeKey(key)) return true;
    if (key === 'l') this.#play.focus();
    else if (this.#blind?.running) return false;
    else if (key === 'i') this.#switchTo('in');
    else if (key === 'o') this.#switchTo('out');
    else if (key === 'c') this.#toggle(nowMs);
    else return false;
    return true;
  }

  #toggle(nowMs: number): void {
    const side = this.#held.press(nowMs, this.#way === 'in');
    if (side !== null) this.#switchTo(side ? 'in' : 'out');
  }

  /** Only a control that was reached by keyboard keeps Space for itself. */
  #keepsSpace(target: EventTarget | null): boolean {
    return target instanceof HTMLElement && target.matches('button, input, a') && target !== this.#clicked && target.matches(':focus-visible');
  }
}

function soundsOfPage(): Sounds {
  const read = (id: string) => {
    const bytes = parseBase64(byId(id).textContent!, id);
    const header = parseWavHeader(bytes);
    if (header.kind !== 'format') throw new Error('the sound in this file is cut off');
    const { format } = header;
    const frames = format.frameCount ?? 0;
    const channels = Array.from({ length: format.channelCount }, () => new Float64Array(frames));
    decodeSamples(format, bytes, format.dataOffsetBytes, channels, 0, frames);
    return { channels, rateHz: format.rateHz };
  };
  const { channels, rateHz } = read('sound-in');
  return { rateHz, in: channels, out: read('sound-out').channels };
}

function byId(id: string): HTMLElement {
  return document.getElementById(id)!;
}

new Player();
