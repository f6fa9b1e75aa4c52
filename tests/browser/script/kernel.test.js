// Kernels: transforms agree with their definition, and a kernel's response is the one that it was made from.

import assert from "node:assert/strict";
import { test } from "node:test";
import { apart, noise, over, responseOf, scope } from "./load.js";

const { transform, shortest, kernelsOf, aligned, led, largest } = scope(
  ["transform.js", "largest.js", "kernel.js"], ["transform", "shortest", "kernelsOf", "aligned", "led", "largest"]);

for (const sign of [-1, 1]) {
  test(`a transform of sign ${sign} is its definition`, () => {
    const length = 64;
    const [re, im] = [noise(length, 3), noise(length, 4)];
    const [heardRe, heardIm] = [re.slice(), im.slice()];
    transform(heardRe, heardIm, sign);
    for (let k = 0; k < length; k++) {
      let [sumRe, sumIm] = [0, 0];
      for (let n = 0; n < length; n++) {
        const turn = sign * 2 * Math.PI * k * n / length;
        sumRe += re[n] * Math.cos(turn) - im[n] * Math.sin(turn);
        sumIm += re[n] * Math.sin(turn) + im[n] * Math.cos(turn);
      }
      assert.ok(Math.hypot(heardRe[k] - sumRe, heardIm[k] - sumIm) < 1e-12, `bin ${k}`);
    }
  });
}

test("the shortest kernel is 8192 long up to 48 kHz and doubles with the rate", () => {
  const rates = [8000, 44100, 48000, 48001, 88200, 96000, 176400, 192000, 384000];
  assert.deepEqual(rates.map(shortest), [8192, 8192, 8192, 16384, 16384, 16384, 32768, 32768, 65536]);
});

test("a response is led to its end between 0.455 and half of the rate", () => {
  assert.deepEqual([0, 0.3, 0.455].map(led), [0, 0, 0]);
  assert.ok(Math.abs(led(0.4775) - 0.5) < 1e-12);
  assert.ok(led(0.46) > 0 && led(0.46) < 0.02);
  assert.ok(Math.abs(led(0.5) - 1) < 1e-12);
});

/** What `spectraOf` gives for a closed form: the response at the bins of a length, as pairs. */
function sampled(response, rate, seen = []) {
  return (length) => {
    seen.push(length);
    const pairs = new Float64Array(length + 2);
    for (let k = 0; k <= length / 2; k++) [pairs[2 * k], pairs[2 * k + 1]] = response(k * rate / length);
    return [pairs];
  };
}

/** A resistor and a capacitor: 1 / (1 + jf/corner), whose response to an impulse decays with 2π·corner. */
const lowPass = (corner) => (f) => over([1, 0], [1, f / corner]);
/** A coil, its capacitance and what damps them: 1 / (1 − (f/f₀)² + jf/(f₀Q)). */
const resonance = (f0, q) => (f) => over([1, 0], [1 - (f / f0) ** 2, f / f0 / q]);

for (const [name, response, rate] of [
  ["a low pass", lowPass(1000), 48000],
  ["a low pass at 44.1 kHz", lowPass(300), 44100],
  ["a resonance", resonance(3000, 5), 48000],
  ["a resonance at 96 kHz", resonance(6500, 12), 96000],
  ["a slow discharge, at more than the shortest length", lowPass(4), 48000],
]) {
  test(`a kernel has the response of its closed form: ${name}`, () => {
    const { feeds: [taps], before } = kernelsOf(rate, false, sampled(response, rate));
    assert.equal(before, taps.length / 16);
    for (let f = 20; f <= Math.min(20000, 0.45 * rate); f *= 1.37) {
      const { decibels, degrees } = apart(responseOf(taps, before, f, rate), response(f));
      // What is heard is the circuit: within 0.01 dB and 0.1 degree.
      assert.ok(Math.abs(decibels) <= 0.01 && Math.abs(degrees) <= 0.1, `${f} Hz: ${decibels} dB, ${degrees} degrees`);
    }
  });
}

test("a low pass far below half the rate decays as its closed form does", () => {
  const [corner, rate] = [500, 48000];
  const { feeds: [taps], before } = kernelsOf(rate, false, sampled(lowPass(corner), rate));
  const decay = 2 * Math.PI * corner / rate;
  for (const from of [20, 60, 120]) {
    // Sums over many taps: what a step holds above half the rate alternates in sign and cancels.
    const [heard, wanted] = [0, 0].map((_, which) => Array.from({ length: 40 }, (_, i) => from + i)
      .reduce((sum, n) => sum + (which ? decay * Math.exp(-decay * n) : taps[before + n]), 0));
    assert.ok(Math.abs(heard / wanted - 1) < 0.002, `taps from ${from}: ${heard} for ${wanted}`);
  }
});

test("a gain is one tap at time zero", () => {
  const { feeds: [taps], before } = kernelsOf(48000, false, sampled(() => [-0.25, 0], 48000));
  assert.equal(taps.length, 8192);
  taps.forEach((tap, n) => assert.ok(Math.abs(tap - (n === before ? -0.25 : 0)) < 1e-15, `tap ${n}: ${tap}`));
});

test("a length doubles until what rings has died away, and not beyond", () => {
  // A discharge is below −100 dB after ln(10⁵) time constants; a kernel's last thirty-second has to be.
  for (const [corner, wanted] of [[1000, 8192], [15, 8192], [8, 16384], [2, 65536]]) {
    const seen = [];
    const { feeds: [taps] } = kernelsOf(48000, false, sampled(lowPass(corner), 48000, seen));
    const constant = 48000 / (2 * Math.PI * corner);
    const needed = Math.log(1e5) * constant;
    const fits = (length) => needed <= length * (1 - 1 / 16 - 1 / 32);
    assert.equal(taps.length, wanted, `${corner} Hz`);
    assert.ok(fits(taps.length), `${corner} Hz: ${taps.length} taps`);
    assert.ok(taps.length === 8192 || !fits(taps.length / 2), `${corner} Hz: ${taps.length} taps are more than it takes`);
    assert.deepEqual(seen.at(-1), wanted);
  }
});

test("a response that rings longer than the longest kernel is refused, as the program refuses it", () => {
  // 32 times 8192 samples at 48 kHz are 5.5 s; this one takes a minute.
  const lengths = [];
  assert.throws(() => kernelsOf(48000, false, sampled(lowPass(0.03), 48000, lengths)), /^Error: it rings longer than 5\.5 s/);
  assert.deepEqual(lengths, [8192, 16384, 32768, 65536, 131072, 262144]);
});

test("both ends of a kernel are faded to nothing, half way through the fade to a half", () => {
  const [corner, rate] = [15, 48000];
  const { feeds: [taps], before } = kernelsOf(rate, false, sampled(lowPass(corner), rate));
  const fade = taps.length / 32;
  const decay = 2 * Math.PI * corner / rate;
  /** How much is left of the closed form in the sixteen taps from `from` on. */
  const left = (from) => {
    const [heard, wanted] = [(n) => taps[n], (n) => decay * Math.exp(-decay * (n - before))]
      .map((of) => Array.from({ length: 16 }, (_, i) => of(from + i)).reduce((sum, x) => sum + x, 0));
    return heard / wanted;
  };
  assert.ok(Math.abs(left(taps.length - fade - 16) - 1) < 0.03, String(left(taps.length - fade - 16)));
  assert.ok(Math.abs(left(taps.length - fade / 2 - 8) - 0.5) < 0.03, String(left(taps.length - fade / 2 - 8)));
  assert.ok(Math.abs(left(taps.length - 16)) < 0.01, String(left(taps.length - 16)));
});

test("an approximate response has a short kernel, a quarter of it before time zero, true in the bass", () => {
  const response = resonance(3500, 3);
  const { feeds: [taps], before } = kernelsOf(48000, true, sampled(response, 48000));
  assert.deepEqual([taps.length, before], [512, 128]);
  for (const f of [50, 63, 80, 100, 125, 160, 200, 250]) {
    const { decibels } = apart(responseOf(taps, before, f, 48000), response(f));
    assert.ok(Math.abs(decibels) <= 0.11, `${f} Hz: ${decibels} dB`);
  }
});

test("an approximate response that discharges slowly has as long a kernel as its bass wants", () => {
  const response = lowPass(30);
  const { feeds: [taps], before } = kernelsOf(48000, true, sampled(response, 48000));
  assert.ok(taps.length > 512, String(taps.length));
  assert.equal(before, taps.length / 4);
  for (const f of [50, 63, 80, 100, 125, 160, 200, 250]) {
    const { decibels } = apart(responseOf(taps, before, f, 48000), response(f));
    assert.ok(Math.abs(decibels) <= 0.11, `${f} Hz: ${decibels} dB`);
  }
});

test("kernels are moved to begin alike, and cut where they have more before time zero", () => {
  const kernels = { feeds: [Float64Array.of(1, 2, 3, 4)], before: 2 };
  assert.deepEqual(aligned(kernels, 2), [Float32Array.of(1, 2, 3, 4)]);
  assert.deepEqual(aligned(kernels, 3), [Float32Array.of(0, 1, 2, 3, 4)]);
  assert.deepEqual(aligned(kernels, 1), [Float32Array.of(2, 3, 4)]);
});

test("the largest magnitude may be negative", () => {
  assert.equal(largest(Float64Array.of(1, -3, 2)), 3);
  assert.equal(largest(new Float32Array(0)), 0);
});
