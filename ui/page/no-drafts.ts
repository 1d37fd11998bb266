import type { Drafts } from './drafts-state.ts';

export const noDrafts: Drafts = { I: null, II: null, III: null, IV: null };
