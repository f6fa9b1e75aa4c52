// Kernels as the program makes them for the files: the response at the bins of a transform, transformed back, with a
// sixteenth of the length kept before time zero and raised-cosine fades at both ends. The length doubles until what
// is left at the end is below −100 dB. The taps before time zero stay as many as the shortest length has, so that all
// kernels of a rate line up.

const SHORTEST = 8192;
const MOST_DOUBLINGS = 5;
const BEFORE = 16;
const FADE = 32;
const TAIL = 1e-5;

/** Returns the shortest kernel's length at `rate`: 8192 up to 48 kHz, doubled with the rate. */
function shortest(rate) {
  let length = SHORTEST;
  for (let covered = 48000; covered < rate; covered *= 2) length *= 2;
  return length;
}

/** Returns the taps before time zero at `rate`. */
function tapsBefore(rate) {
  return shortest(rate) / BEFORE;
}

/** Returns the kernels of the responses that `spectraOf(length)` gives at the bins of that length. */
function kernelsOf(rate, spectraOf) {
  const before = tapsBefore(rate);
  let length = shortest(rate);
  for (let doublings = 0; ; doublings++) {
    const kernels = spectraOf(length).map((spectrum) => impulseResponse(spectrum, length, before));
    if (doublings === MOST_DOUBLINGS || kernels.every(tailHasDied)) {
      kernels.forEach((taps) => fade(taps, before / 2, length / FADE));
      return kernels.map((taps) => Float32Array.from(taps));
    }
    length *= 2;
  }
}

function impulseResponse(spectrum, length, before) {
  const [re, im] = [new Float64Array(length), new Float64Array(length)];
  for (let k = 0; k <= length / 2; k++) {
    re[k] = spectrum[2 * k] / length;
    im[k] = k === 0 || k === length / 2 ? 0 : spectrum[2 * k + 1] / length;
    if (k > 0) [re[length - k], im[length - k]] = [re[k], -im[k]];
  }
  transform(re, im, 1);
  const taps = new Float64Array(length);
  taps.set(re.subarray(length - before), 0);
  taps.set(re.subarray(0, length - before), before);
  return taps;
}

function tailHasDied(taps) {
  const peak = largest(taps);
  return largest(taps.subarray(taps.length - taps.length / FADE)) <= TAIL * peak;
}

function fade(taps, atStart, atEnd) {
  const raised = (i, length) => 0.5 - 0.5 * Math.cos(Math.PI * (i + 0.5) / length);
  for (let i = 0; i < atStart; i++) taps[i] *= raised(i, atStart);
  for (let i = 0; i < atEnd; i++) taps[taps.length - 1 - i] *= raised(i, atEnd);
}

/** Returns the largest magnitude among `samples`. */
function largest(samples) {
  let most = 0;
  for (let i = 0; i < samples.length; i++) most = Math.max(most, Math.abs(samples[i]));
  return most;
}

const turns = new Map();

function turnsOf(length) {
  if (!turns.has(length)) {
    const angle = (k) => 2 * Math.PI * k / length;
    const half = length / 2;
    turns.set(length, [
      Float64Array.from({ length: half }, (_, k) => Math.cos(angle(k))),
      Float64Array.from({ length: half }, (_, k) => Math.sin(angle(k))),
    ]);
  }
  return turns.get(length);
}

/** Transforms in place, unscaled; `sign` −1 is forward, +1 is back. The length is a power of two. */
function transform(re, im, sign) {
  const length = re.length;
  for (let i = 1, j = 0; i < length; i++) {
    let bit = length >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j |= bit;
    if (i < j) {
      [re[i], re[j]] = [re[j], re[i]];
      [im[i], im[j]] = [im[j], im[i]];
    }
  }
  const [cos, sin] = turnsOf(length);
  for (let half = 1; half < length; half *= 2) {
    const stride = length / (2 * half);
    for (let start = 0; start < length; start += 2 * half) {
      for (let k = 0; k < half; k++) {
        const [wr, wi] = [cos[k * stride], sign * sin[k * stride]];
        const [a, b] = [start + k, start + k + half];
        const [tr, ti] = [re[b] * wr - im[b] * wi, re[b] * wi + im[b] * wr];
        re[b] = re[a] - tr;
        im[b] = im[a] - ti;
        re[a] += tr;
        im[a] += ti;
      }
    }
  }
}
