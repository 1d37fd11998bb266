/**
 * Tables of the ziggurat for the normal density (G. Marsaglia, W. W. Tsang, "The ziggurat method for generating random variables", Journal of Statistical Software 5(8), 2000; the layer and the
 * value are taken from different bits, after J. A. Doornik, "An improved ziggurat method", 2005; both from memory): 128 layers of equal area under exp(−x²/2), made once a thread from
 * our own exp, log and sqrt.
 */
import { exp, log } from '../math/index.ts';

/** Where the tail begins, and the area of each layer, for 128 layers (the paper's figures). */
export const tailStart = 3.442619855899;
const layerArea = 9.91256303526217e-3;
/** Values are whole numbers of 25 bits, sign included. */
const valueScale = 16777216;

export interface ZigguratTables {
  /** Of a value j in layer i: |j| below this lies wholly under the curve. */
  readonly sure: Int32Array;
  /** … and stands for j · width. */
  readonly width: Float64Array;
  /** exp(−x²/2) at the layer's edge. */
  readonly height: Float64Array;
}

function makeTables(): ZigguratTables {
  const sure = new Int32Array(128);
  const width = new Float64Array(128);
  const height = new Float64Array(128);
  let edge = tailStart;
  let before = tailStart;
  // The lowest layer is the tail and a box beside it of the same area in all.
  const box = layerArea / exp(-0.5 * edge * edge);
  sure[0] = Math.floor((edge / box) * valueScale);
  width[0] = box / valueScale;
  height[0] = 1;
  width[127] = edge / valueScale;
  height[127] = exp(-0.5 * edge * edge);
  for (let layer = 126; layer >= 1; layer -= 1) {
    edge = Math.sqrt(-2 * log(layerArea / edge + exp(-0.5 * edge * edge)));
    sure[layer + 1] = Math.floor((edge / before) * valueScale);
    before = edge;
    width[layer] = edge / valueScale;
    height[layer] = exp(-0.5 * edge * edge);
  }
  sure[1] = 0;
  return { sure, width, height };
}

export const ziggurat: ZigguratTables = makeTables();
