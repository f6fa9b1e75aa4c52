// Levels: how loud and how bright each voice is on a sound, from the sound's power spectrum and the voice's response, so
// that matched levels stay matched while knobs turn; and how high it peaks, so that nothing goes above the ceiling.

/** K-weighting by ITU-R BS.1770: its two sections for 48 kHz. */
const K_RATE = 48000;
const K_SECTIONS = [
  { b: [1.53512485958697, -2.69169618940638, 1.19839281085285], a: [1, -1.69065929318241, 0.73248077421585] },
  { b: [1, -2, 1], a: [1, -1.99004745483398, 0.99007225036621] },
];

/**
 * Returns the sections for another rate: by the bilinear transform, each section's analogue prototype solved from its printed form.
 *
 * @param {number} rate
 */
function kSections(rate) {
  return K_SECTIONS.map(({ b: [b0, b1, b2], a: [, a1, a2] }) => {
    const [zero, half] = [1 + a1 + a2, 1 - a1 + a2];
    const omega = Math.sqrt(zero / half);
    const q = omega * half / (2 * (1 - a2));
    const [low, band, high] = [(b0 + b1 + b2) / zero, (b0 - b2) / (1 - a2), (b0 - b1 + b2) / half];
    const w = Math.tan(Math.atan(omega) * K_RATE / rate);
    const d = w * w + w / q + 1;
    return {
      b: [low * w * w + band * w / q + high, 2 * (low * w * w - high), low * w * w - band * w / q + high].map((x) => x / d),
      a: [2 * (w * w - 1) / d, (w * w - w / q + 1) / d],
    };
  });
}

/**
 * Returns the power weight of K-weighting at `frequency`; above 24 kHz that of 24 kHz.
 *
 * @param {number} frequency
 */
function kWeight(frequency) {
  const turn = 2 * Math.PI * Math.min(frequency, K_RATE / 2) / K_RATE;
  /** @type {(coefficients: number[]) => number} */
  const power = ([c0, c1, c2]) => (c0 + c1 * Math.cos(turn) + c2 * Math.cos(2 * turn)) ** 2
    + (c1 * Math.sin(turn) + c2 * Math.sin(2 * turn)) ** 2;
  return K_SECTIONS.reduce((weight, { b, a }) => weight * power(b) / power(a), 1);
}

/**
 * Returns the power of `planes` at the bins of the shortest kernel's length: {own, cross, loud, step}, `own` being one
 * array a feed (or one for all channels together), `cross`, for a source by coils, what each two of them have in common,
 * {one, other, pairs}, `loud` the weights of K-weighting and `step` the bins' width in hertz. Frames overlap by half under
 * a sine window, whose squares add up to one. It is given up where `isOver()`.
 *
 * @param {Float32Array[]} planes
 * @param {number} rate
 * @param {number} coils
 * @param {() => boolean} isOver
 * @returns {Promise<Power>}
 */
async function powerOf(planes, rate, coils, isOver) {
  const length = shortest(rate);
  const bins = length / 2 + 1;
  const own = (coils > 0 ? planes : [planes[0]]).map(() => new Float64Array(bins));
  const cross = own.flatMap((_, one) => own.slice(one + 1).map((_, after) => (
    { one, other: one + 1 + after, pairs: new Float64Array(2 * bins) })));
  const window = Float64Array.from({ length }, (_, i) => Math.sin(Math.PI * (i + 0.5) / length));
  const frames = Math.ceil(planes[0].length / (length / 2)) + 1;
  for (let frame = 0; frame < frames && !isOver(); frame++) {
    const spectra = planes.map((plane) => {
      const start = (frame - 1) * length / 2;
      const [re, im] = [new Float64Array(length), new Float64Array(length)];
      const end = Math.min(length, plane.length - start);
      for (let i = Math.max(0, -start); i < end; i++) re[i] = window[i] * plane[start + i];
      transform(re, im, -1);
      return { re, im };
    });
    spectra.forEach(({ re, im }, channel) => {
      const sum = own[coils > 0 ? channel : 0];
      for (let k = 0; k < bins; k++) sum[k] += re[k] * re[k] + im[k] * im[k];
    });
    for (const { one, other, pairs } of cross) addCross(pairs, spectra[one], spectra[other]);
    if (frame % 32 === 31) await pause();
  }
  const step = rate / length;
  return { own, cross, loud: Float64Array.from({ length: bins }, (_, k) => kWeight(k * step)), step };
}

/**
 * Adds what spectrum `a` has in common with spectrum `b`, a times b's conjugate, to pairs.
 *
 * @param {Pairs} pairs
 * @param {{ re: Float64Array, im: Float64Array }} a
 * @param {{ re: Float64Array, im: Float64Array }} b
 */
function addCross(pairs, a, b) {
  for (let k = 0; 2 * k < pairs.length; k++) {
    pairs[2 * k] += a.re[k] * b.re[k] + a.im[k] * b.im[k];
    pairs[2 * k + 1] += a.im[k] * b.re[k] - a.re[k] * b.im[k];
  }
}

/**
 * Returns what a voice of these `spectra`, one a feed, makes of a sound of that `power`: {plain, loud, centroid}, its
 * energy as it is and K-weighted, and the middle of its spectrum in hertz, each frequency weighted by its magnitude.
 *
 * @param {Pairs[]} spectra
 * @param {Power} power
 * @returns {Levels}
 */
function levelsOf(spectra, { own, cross, loud, step }) {
  const power = new Float64Array(loud.length);
  own.forEach((weights, feed) => {
    const spectrum = spectra[feed];
    for (let k = 0; k < power.length; k++) power[k] += weights[k] * (spectrum[2 * k] ** 2 + spectrum[2 * k + 1] ** 2);
  });
  for (const { one, other, pairs } of cross) {
    const [a, b] = [spectra[one], spectra[other]];
    for (let k = 0; k < power.length; k++) {
      const re = a[2 * k] * b[2 * k] + a[2 * k + 1] * b[2 * k + 1];
      const im = a[2 * k + 1] * b[2 * k] - a[2 * k] * b[2 * k + 1];
      power[k] += 2 * (re * pairs[2 * k] - im * pairs[2 * k + 1]);
    }
  }
  const levels = { plain: 0, loud: 0, centroid: 0 };
  let sum = 0;
  power.forEach((own, k) => {
    // What the coils have in common can leave less than nothing, by rounding.
    const magnitude = Math.sqrt(Math.max(own, 0));
    levels.plain += own;
    levels.loud += own * loud[k];
    levels.centroid += magnitude * k * step;
    sum += magnitude;
  });
  levels.centroid = sum > 0 ? levels.centroid / sum : 0;
  return levels;
}

/**
 * Returns the sum of the kernels' magnitudes: how much a voice can raise a peak at most.
 *
 * @param {Kernels} kernels
 */
function reach(kernels) {
  let sum = 0;
  for (const taps of kernels.feeds) for (let i = 0; i < taps.length; i++) sum += Math.abs(taps[i]);
  return sum;
}

/**
 * Lets the browser draw and listen before a long calculation goes on.
 *
 * @returns {Promise<void>}
 */
function pause() {
  return new Promise((resume) => setTimeout(resume));
}
