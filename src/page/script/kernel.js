// Kernels as the program makes them for the files: the response at the bins of a transform, led to a real value at half
// the rate and transformed back, with a sixteenth of the length kept before time zero and raised-cosine fades at both ends.
// The length doubles until what rings has died away at both ends, and a response that rings on is refused, as the program
// refuses it. A response that is approximate is cut to a sixteenth, or
// to as much more as the bass wants.

const SHORTEST = 8192;
/** Doublings of the length before a response is given up. */
const MOST_DOUBLINGS = 5;
const BEFORE = 16;
const FADE = 32;
/** What may be left at either end, as a share of the peak: −100 dB. */
const REST = 1e-5;
/** The shares of the rate between which a response is led to its end. */
const LED = [0.455, 0.5];
const ROUGHLY = { share: 16, before: 4, fade: 16 };
/** Where a kernel that is too short is off, in hertz, and the share that it may be off by. */
const BASS = [50, 63, 80, 100, 125, 160, 200, 250];
const BASS_OFF = 0.0116;

/**
 * Returns the shortest kernel's length at `rate`: 8192 up to 48 kHz, doubled with the rate.
 *
 * @param {number} rate
 */
function shortest(rate) {
  let length = SHORTEST;
  for (let covered = 48000; covered < rate; covered *= 2) length *= 2;
  return length;
}

/**
 * Returns the kernels of the responses that `spectraOf(length)` gives at the bins of that length, one array a feed.
 *
 * @param {number} rate
 * @param {boolean} isApproximate
 * @param {(length: number) => Pairs[]} spectraOf
 * @returns {Kernels}
 */
function kernelsOf(rate, isApproximate, spectraOf) {
  let length = shortest(rate);
  if (isApproximate) {
    const spectra = spectraOf(length);
    const wrapped = spectra.map((spectrum) => impulseResponse(spectrum, length));
    const bass = BASS.map((frequency) => Math.round(frequency * length / rate));
    for (let cut = length / ROUGHLY.share; ; cut *= 2) {
      const before = cut / ROUGHLY.before;
      const feeds = wrapped.map((response) => unwrapped(response, cut, before));
      feeds.forEach((taps) => fade(taps, cut / ROUGHLY.fade));
      /** @type {(taps: Float64Array, i: number) => boolean} */
      const keeps = (taps, i) => bass.every((k) => isNear(taps, before, spectra[i], length, k));
      if (cut === length || feeds.every(keeps)) return { feeds, before };
    }
  }
  for (let doublings = 0; doublings <= MOST_DOUBLINGS; doublings++) {
    const before = length / BEFORE;
    const feeds = spectraOf(length).map((spectrum) => unwrapped(impulseResponse(spectrum, length), length, before));
    if (feeds.every(endsHaveDied)) {
      feeds.forEach((taps) => fade(taps, length / FADE));
      return { feeds, before };
    }
    length *= 2;
  }
  throw new Error(`it rings longer than ${(length / 2 / rate).toFixed(1)} s, more than this page plays`);
}

/**
 * Returns whether the response of `taps` at bin `k` of `length` is near the spectrum's.
 *
 * @param {Float64Array} taps
 * @param {number} before
 * @param {Pairs} spectrum
 * @param {number} length
 * @param {number} k
 */
function isNear(taps, before, spectrum, length, k) {
  const [wantedRe, wantedIm] = [spectrum[2 * k], spectrum[2 * k + 1]];
  let [re, im] = [0, 0];
  for (let n = 0; n < taps.length; n++) {
    const turn = -2 * Math.PI * k * (n - before) / length;
    re += taps[n] * Math.cos(turn);
    im += taps[n] * Math.sin(turn);
  }
  return Math.hypot(re - wantedRe, im - wantedIm) <= BASS_OFF * Math.hypot(wantedRe, wantedIm);
}

/**
 * Returns kernels as 32-bit floats that begin `before` taps before time zero, whatever they have there themselves.
 *
 * @param {{ feeds: (Float32Array | Float64Array)[], before: number }} kernels
 * @param {number} before
 */
function aligned(kernels, before) {
  return kernels.feeds.map((taps) => {
    const moved = before - kernels.before;
    const to = new Float32Array(taps.length + moved);
    to.set(moved < 0 ? taps.subarray(-moved) : taps, Math.max(0, moved));
    return to;
  });
}

/**
 * Returns the impulse response of a spectrum; what lies before time zero is at its end.
 *
 * @param {Pairs} spectrum
 * @param {number} length
 */
function impulseResponse(spectrum, length) {
  const [re, im] = [new Float64Array(length), new Float64Array(length)];
  const end = spectrum[length];
  for (let k = 0; k <= length / 2; k++) {
    const kept = 1 - led(k / length);
    re[k] = (end + (spectrum[2 * k] - end) * kept) / length;
    im[k] = k === 0 ? 0 : spectrum[2 * k + 1] * kept / length;
    if (k > 0) {
      re[length - k] = re[k];
      im[length - k] = -im[k];
    }
  }
  transform(re, im, 1);
  return re;
}

/**
 * Returns the `length` taps of an impulse response from `before` time zero on.
 *
 * @param {Float64Array} response
 * @param {number} length
 * @param {number} before
 */
function unwrapped(response, length, before) {
  const taps = new Float64Array(length);
  taps.set(response.subarray(response.length - before), 0);
  taps.set(response.subarray(0, length - before), before);
  return taps;
}

/**
 * Returns how far a response is led to its end at a `share` of the rate: 0 not at all, 1 all the way.
 *
 * @param {number} share
 */
function led(share) {
  const way = Math.min(1, Math.max(0, (share - LED[0]) / (LED[1] - LED[0])));
  return way - Math.sin(2 * Math.PI * way) / (2 * Math.PI);
}

/** @param {Float64Array} taps */
function endsHaveDied(taps) {
  const most = REST * largest(taps);
  const length = taps.length / FADE;
  /** @type {(end: Float64Array) => boolean} */
  const died = (end) => end.every((tap) => Math.abs(tap) <= most);
  return died(taps.subarray(0, length)) && died(taps.subarray(taps.length - length));
}

/**
 * Fades both ends in place.
 *
 * @param {Float64Array} taps
 * @param {number} length
 */
function fade(taps, length) {
  for (let i = 0; i < length; i++) {
    const gain = 0.5 - 0.5 * Math.cos(Math.PI * (i + 0.5) / length);
    taps[i] *= gain;
    taps[taps.length - 1 - i] *= gain;
  }
}
