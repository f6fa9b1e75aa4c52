// Strums are counted as they are played, whatever comes between them.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

const text = readFileSync(new URL("../../../src/panel/script/strums.js", import.meta.url), "utf8");
const { Strums } = await import(`data:text/javascript,${encodeURIComponent(text)}`);

/** Chords over six strings that decay, struck at these times in seconds, each at its gain, with noise; clicks at others. */
function take(rate, strums, clicks, seconds) {
  const samples = new Float32Array(rate * seconds);
  let state = 1;
  for (let n = 0; n < samples.length; n += 1) {
    state = Math.imul(state, 1664525) + 1013904223 | 0;
    samples[n] = 2e-5 * state / 2 ** 31;
  }
  for (const [at, gain] of strums) {
    [82, 165, 247].forEach((hz, string) => {
      const from = Math.round((at + 0.025 * string) * rate);
      const until = strums.map(([other]) => other).find((other) => other > at) ?? Infinity;
      for (let n = from; n < samples.length && n < until * rate; n += 1) {
        const t = (n - from) / rate;
        for (let k = 1; k <= 8; k += 1) samples[n] += gain / k * Math.exp(-t * (1 + 0.5 * k)) * Math.sin(2 * Math.PI * hz * k * t);
      }
    });
  }
  for (const at of clicks) samples.fill(0.004, Math.round(at * rate), Math.round(at * rate) + 20);
  return samples;
}

function counted(samples, rate) {
  const strums = new Strums(rate);
  const times = [];
  for (let from = 0; from + 128 <= samples.length; from += 128) {
    if (strums.push(samples.subarray(from, from + 128))) times.push(from / rate);
  }
  assert.equal(times.length, strums.count);
  return times;
}

test("every strum is counted once, loud and soft, at every rate, and a switch's click is none", () => {
  const strums = [[0.5, 0.05], [1.6, 0.03], [2.5, 0.06], [4.9, 0.04], [5.5, 0.05]];
  for (const rate of [44100, 96000]) {
    const times = counted(take(rate, strums, [3.9], 7), rate);
    assert.equal(times.length, strums.length, times.join(", "));
    times.forEach((time, i) => assert.ok(time > strums[i][0] - 0.03 && time < strums[i][0] + 0.2, `${time} for ${strums[i][0]}`));
  }
});

test("silence and noise have no strums", () => {
  assert.deepEqual(counted(new Float32Array(48000), 48000), []);
  assert.deepEqual(counted(take(48000, [], [], 3), 48000), []);
});
