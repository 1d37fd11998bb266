/** What the player of a demonstration is worked with, before a script has touched it. Pure. */
import { markup, type Markup } from '../markup.ts';
import type { TrialNames } from '../path-words.ts';
import type { DemonstrationSound } from './content.ts';

export function playerMarkup(names: TrialNames, { frames, rateHz }: DemonstrationSound): Markup {
  const seconds = (frames / rateHz).toFixed(1);
  return markup`<div id="player" role="group" aria-label="Player" hidden>
<div><button id="play" type="button">Play</button>
<div id="ways" role="group" aria-label="Heard"><button id="way-in" type="button" aria-pressed="true">${names.in}</button><button id="way-out" type="button" aria-pressed="false">${names.out}</button></div></div>
<div><progress id="position" max="1" value="0" aria-label="Position"></progress><span id="position-words">0.0 of ${seconds} s</span></div>
<div role="group" aria-label="Level"><button id="quieter" type="button" aria-label="Quieter by 1 decibel">−</button><output id="level" aria-label="Level">−20 dB</output><button id="louder" type="button" aria-label="Louder by 1 decibel">+</button>
<label class="letters"><input type="checkbox" id="letters" checked> keys of one letter</label></div>
<p id="error" role="alert"></p>
</div>
<p class="note keys">Keys: <kbd>Space</kbd> play or pause; <kbd>C</kbd> switch, held it returns; <kbd>I</kbd> ${names.in.toLowerCase()}; <kbd>O</kbd> ${names.out.toLowerCase()}; <kbd>Escape</kbd> silence; <kbd>L</kbd> to the player, where arrows change level and position.</p>`;
}

export function blindMarkup(trials: number, names: TrialNames): Markup {
  return markup`<section aria-labelledby="blind"><h2 id="blind" tabindex="-1">Without knowing which</h2>
<p>Can you tell the two apart by ear alone? A and B are "${names.in.toLowerCase()}" and "${names.out.toLowerCase()}", in an order drawn now and kept; X is one of them, drawn anew in each of ${trials} trials. Listen as often as you like, then say which of them X is. What was right is told after the last answer, not before.</p>
<p class="note" id="needed"></p>
<p class="note">This file holds both sounds and the program that draws: whoever looks into it with the tools of a programmer can find out. It keeps honest listeners honest, no more. Ears tire: make a pause after 20 to 30 minutes.</p>
<div id="blind-controls" hidden>
<button id="blind-begin" type="button">Begin: ${trials} trials</button>
<div id="blind-run" hidden>
<p id="blind-words" role="status"></p>
<div id="tokens" role="group" aria-label="Hear"><button type="button" data-token="A" aria-label="Hear A" aria-pressed="false">A</button><button type="button" data-token="B" aria-label="Hear B" aria-pressed="false">B</button><button type="button" data-token="X" aria-label="Hear X" aria-pressed="false">X</button></div>
<p id="answers" role="group" aria-label="Answer"><button type="button" data-answer="1">1: X is A</button><button type="button" data-answer="2">2: X is B</button></p>
<p><button id="blind-leave" type="button">Leave</button><span id="blind-leaving" role="group" aria-label="Leave?" hidden>Leave? What was answered stays, as stopped. <button id="blind-stop" type="button">Leave</button> <button id="blind-stay" type="button">Stay</button></span></p>
</div>
<div id="blind-result" role="status"></div>
</div>
</section>`;
}
