/** What a line's capacitance asks of whatever drives it. Elementary formulas, common practice. */
import { cos, sin } from '../../math/index.ts';

/** Speed of light, m/s (SI Brochure, 9th edition, 2019). */
const lightMetresPerSecond = 299_792_458;

/** Peak current into the capacitance alone: 2π f C Vp, A. */
export const chargingAmperes = (farads: number, peakVolts: number, hz: number): number => 2 * Math.PI * hz * farads * peakVolts;

/** Slew rate of a driver that gives no more than this current: Imax / C, V/s. */
export const slewVoltsPerSecond = (farads: number, limitAmperes: number): number => limitAmperes / farads;

/** Highest frequency at which a sine of this peak stays under the slew rate, Hz. */
export const fullPowerHz = (voltsPerSecond: number, peakVolts: number): number => voltsPerSecond / (2 * Math.PI * peakVolts);

/** Corner of a resistance with the line's capacitance: 1 / (2π R C), Hz. */
export const cornerHz = (ohms: number, farads: number): number => 1 / (2 * Math.PI * ohms * farads);

/** Input admittance of an open lossless line over that of its capacitance in one lump: tan(βl) / (βl), β = 2π f / (velocity factor · c). Below a quarter wave. */
export function openLineOverLumped(metres: number, hz: number, velocityFactor: number): number {
  const angle = (2 * Math.PI * hz * metres) / (velocityFactor * lightMetresPerSecond);
  return sin(angle) / cos(angle) / angle;
}
