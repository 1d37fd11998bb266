/** What a shell asks the engine to validate before it installs compiled code. */
import { defineFunction, get, giveBack, local, operation } from './code.ts';
import { encodeModule } from './encode.ts';

/**
 * The bytes of a module that adds two pairs of float64: valid exactly where the engine has the vector instructions that kernels are made of (core
 * specification 2.0, W3C 2022).
 */
export function vectorProbe(): Uint8Array<ArrayBuffer> {
  const left = local('v128', 'left');
  const right = local('v128', 'right');
  const add = defineFunction('add', [left, right], 'v128');
  add.body.push(giveBack(operation('f64x2.add', get(left), get(right))));
  return encodeModule({ functions: [add], exports: {} });
}
