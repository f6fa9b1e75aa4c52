// Levels: K-weighting is that of the standard, and a voice's energy foretold from spectra is that of its sound.

import assert from "node:assert/strict";
import { test } from "node:test";
import { dull, responseOf, scope } from "./load.js";

const { kWeight, powerOf, levelsOf, reach } = scope(["transform.js", "largest.js", "kernel.js", "levels.js"], ["kWeight", "powerOf", "levelsOf", "reach"]);

/** ITU-R BS.1770-5, annex 1, tables 1 and 2: the coefficients for 48 kHz. */
const STANDARD = [
  { b: [1.53512485958697, -2.69169618940638, 1.19839281085285], a: [-1.69065929318241, 0.73248077421585] },
  { b: [1.0, -2.0, 1.0], a: [-1.99004745483398, 0.99007225036621] },
];

/** Returns `samples` through the standard's filters, sample by sample. */
function weighted(samples) {
  return STANDARD.reduce((input, { b, a }) => {
    let [x1, x2, y1, y2] = [0, 0, 0, 0];
    return input.map((x) => {
      const y = b[0] * x + b[1] * x1 + b[2] * x2 - a[0] * y1 - a[1] * y2;
      [x2, x1, y2, y1] = [x1, x, y1, y];
      return y;
    });
  }, samples);
}

const energy = (samples) => samples.reduce((sum, x) => sum + x * x, 0);
const decibels = (power) => 10 * Math.log10(power);

test("K-weighting is the response of the standard's filters for 48 kHz", () => {
  const impulse = new Float64Array(1 << 15);
  impulse[0] = 1;
  const response = weighted(impulse);
  for (const frequency of [20, 38, 60, 100, 250, 500, 997, 1682, 2500, 4000, 8000, 16000, 20000]) {
    const [re, im] = responseOf(response, 0, frequency, 48000);
    const off = decibels(kWeight(frequency)) - decibels(re * re + im * im);
    assert.ok(Math.abs(off) < 1e-4, `${frequency} Hz: ${off} dB`);
  }
  assert.ok(kWeight(0) < 1e-20);
  assert.equal(kWeight(40000), kWeight(24000));
});

test("a sine of 997 Hz at full scale has −3.01 LKFS", () => {
  const loudness = -0.691 + decibels(kWeight(997) / 2);
  assert.ok(Math.abs(loudness + 3.01) < 0.005, String(loudness));
});

test("the filters' shelf and their high pass are both in the weighting", () => {
  // Far above the shelf's corner and far below the high pass's, each alone counts.
  assert.ok(Math.abs(decibels(kWeight(15000)) - 4) < 0.1, String(decibels(kWeight(15000))));
  assert.ok(decibels(kWeight(10)) < -20, String(decibels(kWeight(10))));
});

/** Returns the response of `taps` at the bins of `length`, as pairs. */
function spectrumOf(taps, length) {
  const pairs = new Float64Array(length + 2);
  for (let k = 0; k <= length / 2; k++) [pairs[2 * k], pairs[2 * k + 1]] = responseOf(taps, 0, k, length);
  return pairs;
}

function filtered(samples, taps) {
  return samples.map((_, n) => taps.reduce((sum, tap, i) => sum + tap * (samples[n - i] ?? 0), 0));
}

const RATE = 48000;
const LENGTH = 2 * RATE;
const BINS_OF = 8192;
const PLAIN = spectrumOf([1], BINS_OF);

for (const [name, weighing, listened] of [["unweighted", "plain", (x) => x], ["weighted", "loud", weighted]]) {
  test(`a voice's energy is foretold from spectra: one channel, ${name}`, async () => {
    const sound = dull(LENGTH, 1);
    const power = await powerOf([Float32Array.from(sound)], RATE, 0, () => false);
    const plain = levelsOf([PLAIN], power)[weighing];
    for (const taps of [[0.5], [0.5, 0.5], [1, -0.95], [0, 0, 2]]) {
      const foretold = decibels(levelsOf([spectrumOf(taps, BINS_OF)], power)[weighing] / plain);
      const true_ = decibels(energy(listened(filtered(sound, taps))) / energy(listened(sound)));
      assert.ok(Math.abs(foretold - true_) < 0.05, `${taps}: ${foretold} for ${true_}`);
    }
  });

  test(`a voice's energy is foretold from spectra: coils that have something in common, ${name}`, async () => {
    const [one, other] = [dull(LENGTH, 1), dull(LENGTH, 7)];
    const late = one.map((_, n) => 0.8 * (one[n - 20] ?? 0) + 0.3 * other[n]);
    const planes = [one, late].map((plane) => Float32Array.from(plane));
    const power = await powerOf(planes, RATE, 2, () => false);
    const zero = new Float64Array(PLAIN.length);
    const plain = levelsOf([PLAIN, zero], power)[weighing];
    for (const [a, b] of [[[1], [1]], [[1], [-1]], [[0.2, 0.5], [0, 0, -0.7]], [[0], [1]]]) {
      const foretold = decibels(levelsOf([spectrumOf(a, BINS_OF), spectrumOf(b, BINS_OF)], power)[weighing] / plain);
      const [heardA, heardB] = [filtered(one, a), filtered(late, b)];
      const true_ = decibels(energy(listened(heardA.map((x, n) => x + heardB[n]))) / energy(listened(one)));
      assert.ok(Math.abs(foretold - true_) < 0.05, `${a} and ${b}: ${foretold} for ${true_}`);
    }
  });
}

test("all channels of a stereo sound count", async () => {
  const [one, other] = [dull(LENGTH, 3), dull(LENGTH, 5).map((x) => 2 * x)];
  const both = await powerOf([one, other].map((plane) => Float32Array.from(plane)), RATE, 0, () => false);
  const first = await powerOf([Float32Array.from(one)], RATE, 0, () => false);
  assert.equal(both.own.length, 1);
  const ratio = levelsOf([PLAIN], both).plain / levelsOf([PLAIN], first).plain;
  const wanted = (energy(one) + energy(other)) / energy(one);
  // A one-sided spectrum counts what lies at its ends twice.
  assert.ok(Math.abs(ratio / wanted - 1) < 0.005, `${ratio} for ${wanted}`);
});

test("a sound's centroid is where its magnitudes balance, and none where it is silent", async () => {
  const sine = Float32Array.from({ length: 48000 }, (_, n) => Math.sin(Math.PI * n / 48000) ** 2 * Math.sin(2 * Math.PI * 3000 * n / RATE));
  const { centroid } = levelsOf([PLAIN], await powerOf([sine], RATE, 0, () => false));
  assert.ok(Math.abs(centroid - 3000) < 60, String(centroid));
  const silence = await powerOf([new Float32Array(48000)], RATE, 0, () => false);
  assert.deepEqual(levelsOf([PLAIN], silence), { plain: 0, loud: 0, centroid: 0 });
});

test("a voice's reach is the sum of its taps' magnitudes over all feeds", () => {
  assert.equal(reach({ feeds: [Float64Array.of(1, -2), Float64Array.of(0.5)], before: 0 }), 3.5);
});
