// Levels: how loud each voice is on a sound, from the sound's power spectrum and the voice's response, so that matched
// levels stay matched while knobs turn; and how high it peaks, so that nothing goes above the ceiling.

/** The most that a match raises a voice above its level in the files: 30 dB. */
const MOST_MATCH = 10 ** (30 / 20);

/** K-weighting by ITU-R BS.1770: its two sections for 48 kHz. */
const K_RATE = 48000;
const K_SECTIONS = [
  { b: [1.53512485958697, -2.69169618940638, 1.19839281085285], a: [1, -1.69065929318241, 0.73248077421585] },
  { b: [1, -2, 1], a: [1, -1.99004745483398, 0.99007225036621] },
];

/** Returns the power weight of K-weighting at `frequency`; above 24 kHz that of 24 kHz. */
function kWeight(frequency) {
  const turn = 2 * Math.PI * Math.min(frequency, K_RATE / 2) / K_RATE;
  const power = ([c0, c1, c2]) => (c0 + c1 * Math.cos(turn) + c2 * Math.cos(2 * turn)) ** 2
    + (c1 * Math.sin(turn) + c2 * Math.sin(2 * turn)) ** 2;
  return K_SECTIONS.reduce((weight, { b, a }) => weight * power(b) / power(a), 1);
}

/**
 * Returns the power of `planes` at the bins of the shortest kernel's length, one array a feed (or one for all channels
 * together), weighted as loudness is (`weighted`) or not. Frames overlap by half under a sine window, whose squares
 * add up to one.
 */
async function powerOf(planes, rate, coils, weighted) {
  const length = shortest(rate);
  const bins = length / 2 + 1;
  const sums = (coils > 0 ? planes : [planes[0]]).map(() => new Float64Array(bins));
  const window = Float64Array.from({ length }, (_, i) => Math.sin(Math.PI * (i + 0.5) / length));
  const [re, im] = [new Float64Array(length), new Float64Array(length)];
  for (const [channel, plane] of planes.entries()) {
    for (let start = -length / 2, frame = 0; start < plane.length; start += length / 2, frame++) {
      for (let i = 0; i < length; i++) re[i] = start + i < 0 ? 0 : window[i] * (plane[start + i] ?? 0);
      im.fill(0);
      transform(re, im, -1);
      const sum = sums[coils > 0 ? channel : 0];
      for (let k = 0; k < bins; k++) sum[k] += re[k] * re[k] + im[k] * im[k];
      if (frame % 32 === 31) await pause();
    }
  }
  for (const sum of sums) {
    for (let k = 0; k < bins; k++) sum[k] *= weighted ? kWeight(k * rate / length) : 1;
  }
  return sums;
}

/**
 * Returns the energy that a voice of these `spectra` makes of a sound of that `power`. Signals by coils are taken as
 * alike, which they are at the low frequencies where the energy is.
 */
function energyOf(spectra, power) {
  let energy = 0;
  for (let k = 0; k < power[0].length; k++) {
    let re = 0;
    let im = 0;
    for (let feed = 0; feed < spectra.length; feed++) {
      const amplitude = Math.sqrt(power[feed][k]);
      re += amplitude * spectra[feed][2 * k];
      im += amplitude * spectra[feed][2 * k + 1];
    }
    energy += re * re + im * im;
  }
  return energy;
}

/** Returns the sum of the kernels' magnitudes: how much a voice can raise a peak at most. */
function reach(kernels) {
  return kernels.feeds.reduce((sum, taps) => sum + taps.reduce((s, tap) => s + Math.abs(tap), 0), 0);
}

/** Lets the browser draw and listen before a long calculation goes on. */
function pause() {
  return new Promise((resume) => setTimeout(resume));
}
