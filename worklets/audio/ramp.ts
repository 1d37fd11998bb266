/** A gain that moves in a straight line to where it is wanted. Audio thread: allocates nothing, never throws. */
export class Ramp {
  value: number;
  #target: number;
  #step = 0;

  constructor(value: number) {
    this.value = value;
    this.#target = value;
  }

  get target(): number {
    return this.#target;
  }

  /** From wherever it stands; at least one frame. */
  moveTo(target: number, frames: number): void {
    this.#target = target;
    this.#step = (target - this.value) / Math.max(1, frames);
  }

  next(): number {
    if (this.value === this.#target) return this.value;
    const moved = this.value + this.#step;
    const arrived = this.#step === 0 || (this.#step > 0 ? moved >= this.#target : moved <= this.#target);
    this.value = arrived ? this.#target : moved;
    return this.value;
  }
}
