/**
 * Device equations of the direct solution: textbook forms on the engine's own functions, written apart from the bench's, without derivatives.
 */
import type { BipolarTransistor, DeviceComponent } from '../../dsp/circuit/components.ts';

/** One controlled current: `current(v)` flows from node `from` to node `to`, v the differences of the node pairs in `controls`. */
export interface Nonlinear {
  readonly from: number;
  readonly to: number;
  readonly controls: readonly (readonly [number, number])[];
  /** Longest move of a control in one iteration, V. */
  readonly longestMove: number;
  current(v: readonly number[]): number;
}

/** The node that a transistor's junctions meet at: an inner one where it has a base resistance. */
export function baseNode({ name, base, baseOhms }: BipolarTransistor): string {
  return baseOhms > 0 ? `inside ${name}` : base;
}

/** All controlled currents of a device, `row` giving the number of a node. */
export function nonlinearCurrents(component: DeviceComponent, vt: number, row: (node: string) => number): Nonlinear[] {
  const currents: Nonlinear[] = [];
  switch (component.kind) {
    case 'diode': {
      const [a, k] = [row(component.anode), row(component.cathode)];
      addJunction(currents, a, k, component.saturationAmperes, component.emissionCoefficient * vt, 1);
      return currents;
    }
    case 'bipolar': {
      const sign = component.polarity === 'npn' ? 1 : -1;
      const [c, e] = [row(component.collector), row(component.emitter)];
      const b = row(baseNode(component));
      const { saturationAmperes: is, earlyVolts } = component;
      addJunction(currents, b, e, is / component.forwardBeta, vt, sign);
      addJunction(currents, b, c, is / component.reverseBeta, vt, sign);
      currents.push({
        from: c, to: e, controls: [[b, e], [b, c]], longestMove: 0.5,
        current: ([be, bc]) => sign * is * (Math.exp(sign * be! / vt) - Math.exp(sign * bc! / vt)) * (earlyVolts === null ? 1 : 1 - (sign * bc!) / earlyVolts),
      });
      return currents;
    }
    case 'forward-bipolar': {
      const sign = component.polarity === 'npn' ? 1 : -1;
      const [c, b, e] = [row(component.collector), row(component.base), row(component.emitter)];
      const { saturationAmperes: is, earlyVolts } = component;
      addJunction(currents, b, e, is / component.forwardBeta, vt, sign);
      currents.push({
        from: c, to: e, controls: [[b, e], [b, c]], longestMove: 0.5,
        current: ([be, bc]) => sign * is * Math.expm1((sign * be!) / vt) * (earlyVolts === null ? 1 : 1 - (sign * bc!) / earlyVolts),
      });
      return currents;
    }
    case 'forward-field-effect': {
      const sign = component.channel === 'n' ? 1 : -1;
      const [d, g, s] = [row(component.drain), row(component.gate), row(component.source)];
      currents.push({
        from: d, to: s, controls: [[g, s], [d, s]], longestMove: 1,
        current: ([gs, ds]) => sign * component.betaAmperesPerVolt2 * Math.pow(Math.max(0, sign * gs! - component.thresholdVolts), 2) * (1 + component.lambdaPerVolt * sign * ds!),
      });
      return currents;
    }
    case 'field-effect': {
      const sign = component.channel === 'n' ? 1 : -1;
      const [d, g, s] = [row(component.drain), row(component.gate), row(component.source)];
      const { thresholdVolts: threshold, betaAmperesPerVolt2: beta, lambdaPerVolt: lambda } = component;
      const forward = (gate: number, drain: number): number => {
        if (gate <= threshold) return 0;
        const shape = drain < gate - threshold ? drain * (2 * (gate - threshold) - drain) : Math.pow(gate - threshold, 2);
        return beta * shape * (1 + lambda * drain);
      };
      currents.push({
        from: d, to: s, controls: [[g, s], [d, s]], longestMove: 1,
        current: ([gs, ds]) => sign * (sign * ds! >= 0 ? forward(sign * gs!, sign * ds!) : -forward(sign * (gs! - ds!), -sign * ds!)),
      });
      if (component.gateSaturationAmperes !== null) {
        addJunction(currents, g, s, component.gateSaturationAmperes, vt, sign);
        addJunction(currents, g, d, component.gateSaturationAmperes, vt, sign);
      }
      return currents;
    }
    case 'triode': {
      const [a, g, k] = [row(component.anode), row(component.grid), row(component.cathode)];
      // No toe: the bench's is 4 mV of effective voltage wide, a plain maximum shows what it costs.
      currents.push({
        from: a, to: k, controls: [[g, k], [a, k]], longestMove: 10,
        current: ([gk, ak]) => component.perveance * Math.pow(Math.max(0, gk! + ak! / component.mu), 1.5),
      });
      const { gridPerveance } = component;
      if (gridPerveance !== null) {
        currents.push({ from: g, to: k, controls: [[g, k]], longestMove: 1, current: ([gk]) => gridPerveance * Math.pow(Math.max(0, gk!), 1.5) });
      }
      return currents;
    }
    case 'tanh-transconductor':
      currents.push({
        from: row(component.out[1]), to: row(component.out[0]), controls: [[row(component.in[0]), row(component.in[1])]], longestMove: component.scaleVolts,
        current: ([v]) => component.maxAmperes * Math.tanh(v! / component.scaleVolts),
      });
      return currents;
    case 'product-transconductor':
      currents.push({
        from: row(component.out[1]), to: row(component.out[0]),
        controls: [[row(component.inA[0]), row(component.inA[1])], [row(component.inB[0]), row(component.inB[1])]], longestMove: 10,
        current: ([a, b]) => component.amperesPerVolt2 * a! * b!,
      });
      return currents;
    case 'core':
      throw new Error(`${component.name}: the direct solution knows no core`);
  }
}

function addJunction(currents: Nonlinear[], p: number, n: number, saturation: number, width: number, sign: number): void {
  currents.push({ from: p, to: n, controls: [[p, n]], longestMove: 0.5, current: ([v]) => sign * saturation * Math.expm1(Math.min(200, (sign * v!) / width)) });
}
