/** The transistors of the pair, generic: A at 27 °C, V. */
export const saturationAmperes = 1e-14;
export const earlyVolts = 100;
