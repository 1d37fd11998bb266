// Public door: what a path is, and the quantities its values are written in.
export * from './contract.ts';
export * from './e-series.ts';
export * from './parse-quantity.ts';
export * from './travel.ts';
export * from './units.ts';
