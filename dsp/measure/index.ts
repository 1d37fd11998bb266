// Public door of the measures.
export * from './orders.ts';
