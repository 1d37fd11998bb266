/** The two typefaces by their use, and how a designator is set. */
import { css } from 'lit';

export const titleFace = css`'STIX Two Text', 'Liberation Serif', serif`;
export const textFace = css`'Source Sans 3', 'Liberation Sans', sans-serif`;

/** Names of parts: italic, in the title face, in pencil. */
export const designator = css`
  .designator { font: italic 400 0.8125rem/1.125rem ${titleFace}; color: var(--pencil); }
`;
