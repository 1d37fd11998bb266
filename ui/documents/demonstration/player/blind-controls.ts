/** The controls of the blind part in the page. While it runs, nothing in them depends on what a token stands for. */
import type { BlindToken } from '../../../../dsp/listening/index.ts';
import { BlindPart, neededWords } from './blind-part.ts';
import type { Way } from './two-ways.ts';

export interface BlindListener {
  hear(way: Way): void;
  began(running: boolean): void;
}

export class BlindControls {
  readonly #trials: number;
  readonly #listener: BlindListener;
  #part: BlindPart | null = null;

  constructor(trials: number, listener: BlindListener) {
    this.#trials = trials;
    this.#listener = listener;
    byId('needed').textContent = neededWords(trials);
    byId('blind-controls').hidden = false;
    byId('blind-begin').addEventListener('click', () => this.#begin());
    for (const box of boxes('[data-token]')) box.addEventListener('click', () => this.#hear(box.dataset['token'] as BlindToken));
    for (const box of boxes('[data-answer]')) box.addEventListener('click', () => this.#answer(box.dataset['answer'] === '1' ? 1 : 2));
    byId('blind-leave').addEventListener('click', () => this.#leaving(true));
    byId('blind-stay').addEventListener('click', () => this.#leaving(false));
    byId('blind-stop').addEventListener('click', () => {
      this.#part?.stop();
      this.#draw();
    });
  }

  get running(): boolean {
    return this.#part !== null && !this.#part.ended;
  }

  /** True: the key was meant for it. */
  takeKey(key: string): boolean {
    if (!this.running) return false;
    if (key === 'a' || key === 'b' || key === 'x') this.#hear(key.toUpperCase() as BlindToken);
    else if (key === '1' || key === '2') this.#answer(key === '1' ? 1 : 2);
    else return false;
    return true;
  }

  #begin(): void {
    this.#part = new BlindPart(this.#trials, crypto.getRandomValues(new Uint32Array(1))[0]!);
    byId('blind-result').textContent = '';
    this.#leaving(false);
    this.#draw();
    boxes('[data-token]')[0]!.focus();
  }

  #hear(token: BlindToken): void {
    if (!this.running) return;
    this.#listener.hear(this.#part!.hear(token));
    this.#draw();
  }

  #answer(answer: 1 | 2): void {
    // Of a trial of which nothing was heard there is no answer: a second press would answer the next one.
    if (!this.running || this.#part!.token === null) return;
    this.#part!.answer(answer);
    this.#draw();
  }

  #leaving(asked: boolean): void {
    byId('blind-leaving').hidden = !asked;
    byId('blind-leave').hidden = asked;
  }

  #draw(): void {
    const part = this.#part!;
    const { running } = this;
    byId('blind-run').hidden = !running;
    byId('blind-begin').hidden = running;
    byId('blind-words').textContent = part.words;
    for (const box of boxes('[data-token]')) box.setAttribute('aria-pressed', String(box.dataset['token'] === part.token));
    for (const box of boxes('[data-answer]')) box.setAttribute('aria-disabled', String(part.token === null));
    if (!running) byId('blind-result').replaceChildren(...part.result().map(paragraph));
    this.#listener.began(running);
    if (!running) byId('blind').focus();
  }
}

function paragraph(words: string): HTMLElement {
  const element = document.createElement('p');
  element.textContent = words;
  return element;
}

function boxes(selector: string): HTMLElement[] {
  return [...document.querySelectorAll<HTMLElement>(selector)];
}

function byId(id: string): HTMLElement {
  return document.getElementById(id)!;
}
