// The mixer takes what an engine supplies, and keeps a voice as it was where the engine has none for it.

import assert from "node:assert/strict";
import { test } from "node:test";
import { dull, scope } from "./load.js";

/** What a browser renders, by the definition: each feed's channel through its taps, summed, from time zero on. */
function rendered({ planes, length, before, coils }, _, kernels) {
  assert.equal(coils, planes.length);
  const sum = new Float32Array(length);
  kernels.forEach((taps, feed) => {
    taps.forEach((tap, k) => {
      if (Math.abs(tap) < 1e-9) return;
      for (let n = Math.max(0, k - before); n < Math.min(length, planes[feed].length + k - before); n++) sum[n] += tap * planes[feed][n + before - k];
    });
  });
  return [sum];
}

const { Mixer, Engine } = scope(
  ["transform.js", "largest.js", "kernel.js", "circuit.js", "voice.js", "resonance.js", "levels.js", "engine.js", "known.js", "behind.js", "mixer.js"],
  ["Mixer", "Engine"], { rendered });

const RATE = 48000;
const R0 = 100e3;
const OMEGA = 2 * Math.PI * 4000;

/** Coils in series on a volume pot whose wiper is the jack, and a cable: unknowns are hot, jack, the coils' current. */
function circuit(henries, ohms) {
  const conductive = [];
  const places = [{ part: "volume-above", a: 0, b: 1 }, { part: "volume-below", a: 1, b: null }, { part: "cable", a: 1, b: null }];
  for (const { a, b } of places) {
    for (const row of [a, b]) if (row !== null) conductive.push([row, row, 1]);
    if (b !== null) conductive.push([a, b, -1], [b, a, -1]);
  }
  conductive.push([0, 2, -1], [2, 0, 1], [2, 2, ohms / R0]);
  return {
    size: 3, impedance: R0, omega: OMEGA, conductive, reactive: [[2, 2, henries * OMEGA / R0]],
    drives: [[[2, 1]], [[2, 1]]], output: 1, places,
  };
}

/** A set of two voices of two coils. */
function set() {
  const voices = [circuit(4.2, 8000), circuit(1.1, 2000)].map((circuit) => ({
    circuit, section: null, outputs: [1, 0.9], telling: [1, 0], rule: { kind: "halves" },
  }));
  const knobs = { volume: { track: 500e3, mid: 0.13, turned: 10 }, tone: null, cable: 4e-10 };
  return { sound: { coils: 2 }, baseline: 0, match_by: "loudness", ceiling: 10 ** (-1 / 20), most_gain: 1000, knobs, voices };
}

function sound(gains) {
  const planes = [dull(12000, 3), dull(12000, 5)].map((plane) => Float32Array.from(plane, (x) => 8 * x));
  return { planes, rate: RATE, lead: 0, length: 12000, coils: 2, gains, before: 0 };
}

/** Returns a mixer whose player writes down what it is given, and the curves that were drawn. */
function mixerOf(set, engine) {
  const heard = { drawn: [], kernels: [], failed: [] };
  const mixer = new Mixer(set, engine, {
    drawn: (index, magnitudes) => { heard.drawn[index] = magnitudes; },
    changed() {}, refused: (_, why) => heard.failed.push(why), failed: (error) => heard.failed.push(error),
  });
  const player = {
    setKernels: (index, kernels, gain) => { heard.kernels[index] = { kernels, gain }; },
    setGains() {}, choose() {},
  };
  return { mixer, player, heard };
}

async function settled(mixer) {
  while (mixer.working || mixer.resting || mixer.next()) await new Promise((resume) => setTimeout(resume, 5));
}

test("what cannot be had of the engine is told, and the voice stays as it was", async () => {
  const engine = new Engine(set());
  const { mixer, heard } = mixerOf(set(), {
    take: (given) => engine.take(given),
    drop: (given) => engine.drop(given),
    weighed: (given) => engine.weighed(given),
    curves: (given) => engine.curves(given),
    voice: (given) => (given.index === 1 && given.turned.volume < 5 ? Promise.reject(new Error("nobody answers")) : engine.voice(given)),
  });
  await mixer.load(sound({ true: [0.5, 0.5], matched: [0.5, 0.9], peaks: [0.7, 0.4] }), () => {});
  await settled(mixer);
  const { kernels } = mixer.now[1];
  mixer.turn({ ...mixer.turned, volume: 3 });
  await settled(mixer);
  assert.deepEqual(heard.failed, ["nobody answers"]);
  assert.equal(mixer.now[1].kernels, kernels);
  assert.equal(mixer.ready, 1);
});
