/** kT/q at the temperature all stages are computed at. */

/** °C; saturation currents hold here. */
export const stageTemperatureC = 27;
/** kT/q, V: exact k and q (SI Brochure, 9th edition, 2019). */
export const stageThermalVolts = (1.380649e-23 / 1.602176634e-19) * (stageTemperatureC + 273.15);
