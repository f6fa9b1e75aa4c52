// The discrete Fourier transform.

/** @type {Map<number, [Float64Array, Float64Array]>} */
const turns = new Map();

/**
 * Returns the cosines and sines of a transform of `length`, kept for the next one.
 *
 * @param {number} length
 */
function turnsOf(length) {
  const kept = turns.get(length);
  if (kept) return kept;
  /** @type {(k: number) => number} */
  const angle = (k) => 2 * Math.PI * k / length;
  const half = length / 2;
  /** @type {[Float64Array, Float64Array]} */
  const both = [
    Float64Array.from({ length: half }, (_, k) => Math.cos(angle(k))),
    Float64Array.from({ length: half }, (_, k) => Math.sin(angle(k))),
  ];
  turns.set(length, both);
  return both;
}

/**
 * @param {Float64Array} values
 * @param {number} i
 * @param {number} j
 */
function swap(values, i, j) {
  const kept = values[i];
  values[i] = values[j];
  values[j] = kept;
}

/**
 * Transforms in place, unscaled; `sign` −1 is forward, +1 is back. The length is a power of two.
 *
 * @param {Float64Array} re
 * @param {Float64Array} im
 * @param {1 | -1} sign
 */
function transform(re, im, sign) {
  const length = re.length;
  for (let i = 1, j = 0; i < length; i++) {
    let bit = length >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j |= bit;
    if (i < j) {
      swap(re, i, j);
      swap(im, i, j);
    }
  }
  const [cos, sin] = turnsOf(length);
  for (let half = 1; half < length; half *= 2) {
    const stride = length / (2 * half);
    for (let start = 0; start < length; start += 2 * half) {
      for (let k = 0; k < half; k++) {
        const wr = cos[k * stride];
        const wi = sign * sin[k * stride];
        const a = start + k;
        const b = a + half;
        const tr = re[b] * wr - im[b] * wi;
        const ti = re[b] * wi + im[b] * wr;
        re[b] = re[a] - tr;
        im[b] = im[a] - ti;
        re[a] += tr;
        im[a] += ti;
      }
    }
  }
}
