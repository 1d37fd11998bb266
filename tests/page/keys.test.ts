import { describe, expect, it } from 'vitest';
import { heldMs, MomentarySwitch } from '../../ui/documents/momentary.ts';
import { Announcer, quietMs } from '../../ui/page/announcer.ts';
import { commandWords, defaultLetters, keyCommands, keyConflict, requestOf } from '../../ui/page/keys.ts';
import type { Stroke } from '../../ui/page/keys.ts';

const keys = { singleLetters: true, letters: defaultLetters, speakSwitches: false };
const stroke = (key: string, change: Partial<Stroke> = {}): Stroke => ({ key, control: false, alt: false, shift: false, repeat: false, target: 'elsewhere', ...change });

describe('keys', () => {
  it.each([['c', 'toggle'], ['i', 'in'], ['o', 'out'], ['l', 'listen'], ['t', 'tell-state'], ['h', 'tell-harmonics'], ['g', 'go-to-value'], ['f', 'figures'], [' ', 'play-pause'], ['x', null]])('%s asks for %s', (key, request) => {
    expect(requestOf(stroke(key), keys)).toBe(request);
  });

  it('ignores letters while typing, with modifiers, repeating, or switched off', () => {
    for (const command of keyCommands) {
      const key = defaultLetters[command];
      expect(requestOf(stroke(key, { target: 'text' }), keys)).toBeNull();
      expect(requestOf(stroke(key, { target: 'chooser' }), keys)).toBeNull();
      for (const modifier of ['control', 'alt', 'shift', 'repeat']) expect(requestOf(stroke(key, { [modifier]: true }), keys), `${command} ${modifier}`).toBeNull();
      expect(requestOf(stroke(key), { ...keys, singleLetters: false })).toBeNull();
    }
  });

  it('leaves Space to a button reached by keyboard, and plays after a click', () => {
    expect(requestOf(stroke(' ', { target: 'button-by-keyboard' }), keys)).toBeNull();
    expect(requestOf(stroke(' ', { target: 'elsewhere' }), keys)).toBe('play-pause');
    expect(requestOf(stroke(' '), { ...keys, singleLetters: false })).toBe('play-pause');
  });

  it('silences on Escape from everywhere', () => {
    for (const target of ['text', 'chooser', 'button-by-keyboard', 'elsewhere'] as const) {
      for (const modifier of ['control', 'alt', 'shift', 'repeat']) expect(requestOf(stroke('Escape', { target, [modifier]: true }), keys)).toBe('silence');
    }
  });

  it('undoes, redoes and freezes with Ctrl or Cmd, leaving text fields their own undo', () => {
    expect(requestOf(stroke('z', { control: true }), keys)).toBe('undo');
    expect(requestOf(stroke('z', { control: true, repeat: true }), keys)).toBe('undo');
    expect(requestOf(stroke('Z', { control: true, shift: true }), keys)).toBe('redo');
    expect(requestOf(stroke('s', { control: true }), keys)).toBe('freeze');
    expect(requestOf(stroke('s', { control: true, target: 'text' }), keys)).toBe('freeze');
    expect(requestOf(stroke('s', { control: true, repeat: true }), keys)).toBeNull();
    expect(requestOf(stroke('z', { control: true, target: 'text' }), keys)).toBeNull();
  });

  it('follows changed letters and names a conflict', () => {
    const letters = { ...defaultLetters, toggle: 'x' };
    expect(keyConflict(letters)).toBeNull();
    expect(requestOf(stroke('x'), { ...keys, letters })).toBe('toggle');
    expect(requestOf(stroke('c'), { ...keys, letters })).toBeNull();
    expect(keyConflict({ ...defaultLetters, toggle: 'i' })).toContain(commandWords.in);
    expect(keyConflict({ ...defaultLetters, toggle: '' })).toContain('expected one letter');
  });
});

describe('held switch', () => {
  it('acts on the press, returns when held 300 ms, stays when tapped', () => {
    const held = new MomentarySwitch();
    expect(held.press(1000, true)).toBe(false);
    expect(held.press(1100, false)).toBeNull();
    expect(held.release(1000 + heldMs)).toBe(true);
    expect(held.release(5000)).toBeNull();
    expect(held.press(6000, true)).toBe(false);
    expect(held.release(6000 + heldMs - 1)).toBeNull();
  });
});

describe('announcer', () => {
  it('says at most one message a second, the newest, and none while dragging', () => {
    const announcer = new Announcer();
    announcer.offer({ text: 'a', urgent: false });
    expect(announcer.take(0, true)).toBeNull();
    expect(announcer.take(0, false)?.text).toBe('a');
    announcer.offer({ text: 'b', urgent: false });
    announcer.offer({ text: 'c', urgent: false });
    expect(announcer.take(quietMs - 1, false)).toBeNull();
    expect(announcer.take(quietMs, false)?.text).toBe('c');
    expect(announcer.take(10 * quietMs, false)).toBeNull();
  });

  it('does not displace an urgent one by another', () => {
    const announcer = new Announcer();
    announcer.offer({ text: 'overload', urgent: true });
    announcer.offer({ text: 'in circuit', urgent: false });
    expect(announcer.take(0, false)?.text).toBe('overload');
  });
});
