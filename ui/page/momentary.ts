/** The switch of the page acts as that of a demonstration does. */
export { heldMs, MomentarySwitch } from '../documents/momentary.ts';
