// The mixer takes kernels from whatever supplies them: fed with floats from elsewhere, it has the same voices, levels, gains
// and curves as by circuits of its own.

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

const { Mixer, Engine, circuitsOf, suppliedBy, spectrumOf } = scope(
  ["transform.js", "largest.js", "kernel.js", "circuit.js", "voice.js", "resonance.js", "levels.js", "engine.js", "supplied.js", "known.js", "mixer.js"],
  ["Mixer", "Engine", "circuitsOf", "suppliedBy", "spectrumOf"], { rendered });

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

/** A set of two voices of two coils, with circuits or, as where those are elsewhere, without. */
function set(hasCircuits) {
  const voices = [circuit(4.2, 8000), circuit(1.1, 2000)].map((circuit) => ({
    circuit: hasCircuits ? circuit : null, section: null, outputs: [1, 0.9], telling: [1, 0], rule: { kind: "halves" },
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

/** Returns kernels as another program sends them: taps as bytes of 32-bit floats, which know no circuit. */
function elsewhere(asked) {
  const own = circuitsOf(set(true));
  const sent = (floats) => new Float32Array(Float32Array.from(floats).buffer.slice(0));
  return {
    kernels: async ({ index, coils, rate, turned }) => {
      asked.push(index);
      const { feeds, before } = own(index, coils).made(rate, turned).kernels;
      return { feeds: feeds.map(sent), before };
    },
    curve: async ({ index, turned }) => sent(own(index, 2).curve(turned)),
  };
}

function near(ours, theirs, share, what) {
  assert.equal(ours.length, theirs.length, what);
  const most = theirs.reduce((most, x) => Math.max(most, Math.abs(x)), 0);
  assert.ok(most > 0, what);
  ours.forEach((x, i) => assert.ok(Math.abs(x - theirs[i]) <= share * most, `${what} ${i}: ${x} for ${theirs[i]}`));
}

/** A circuit's levels are of its response, and those of floats of their taps, which are led to an end near half the rate. */
function matchedTo(ours, theirs, what) {
  const off = 20 * Math.log10(ours / theirs);
  // A matched set is matched within 0.05 LU.
  assert.ok(Math.abs(off) <= 0.05, `${what}: ${ours} for ${theirs}`);
}

for (const [name, gains] of [["of files", { true: [0.5, 0.5], matched: [0.5, 0.9], peaks: [0.7, 0.4] }], ["of the listener's own", null]]) {
  test(`floats from elsewhere sound as circuits of one's own do: a sound ${name}`, async () => {
    const asked = [];
    const own = mixerOf(set(true), new Engine(set(true)));
    const fed = mixerOf(set(false), new Engine(set(false), suppliedBy(elsewhere(asked))));
    for (const turned of [null, { volume: 6.5, tone: undefined, cable: 9e-10 }, { volume: 2, tone: undefined, cable: 4e-10 }]) {
      for (const { mixer, player } of [own, fed]) {
        if (turned) mixer.turn(turned);
        else assert.ok(await mixer.load(sound(gains), () => {}));
        mixer.player = player;
        await settled(mixer);
        mixer.choose(1);
        await settled(mixer);
      }
      for (const matched of [true, false]) {
        for (const { mixer } of [own, fed]) mixer.setMatched(matched);
        const [ours, theirs] = [fed, own].map(({ mixer }) => mixer.currentGains());
        ours.forEach((gain, index) => matchedTo(gain, theirs[index], `gain ${index}`));
      }
      for (const index of [0, 1]) {
        const [ours, theirs] = [fed, own].map(({ mixer }) => mixer.now[index]);
        assert.equal(ours.kernels.before, theirs.kernels.before);
        theirs.kernels.feeds.forEach((taps, feed) => near(ours.kernels.feeds[feed], taps, 1e-6, "tap"));
        for (const level of ["plain", "loud"]) matchedTo(Math.sqrt(ours.levels[level]), Math.sqrt(theirs.levels[level]), level);
        near([ours.reach], [theirs.reach], 1e-6, "reach");
        near(fed.heard.drawn[index], own.heard.drawn[index], 1e-6, "curve");
        if (!turned) continue;
        theirs.kernels.feeds.forEach((_, feed) => near(fed.heard.kernels[index].kernels[feed], own.heard.kernels[index].kernels[feed], 1e-6, "heard tap"));
      }
      // What is told of brightness is a ratio, in steps of more than 5 %; what lies above 20 kHz is a hundredth of it here.
      const [ours, theirs] = [fed, own].map(({ mixer: { now } }) => now[1].levels.centroid / now[0].levels.centroid);
      near([ours], [theirs], 0.02, "centroids");
      assert.deepEqual([...own.heard.failed, ...fed.heard.failed], []);
    }
    assert.deepEqual([...new Set(asked)].sort(), [0, 1]);
    const [first, last] = [0, 1].map((index) => own.mixer.now[index].levels.loud);
    assert.ok(Math.abs(10 * Math.log10(first / last)) > 0.1, "the voices differ in loudness");
  });
}

test("kernels longer than the shortest have the spectrum of all their taps", () => {
  const taps = Float64Array.from({ length: 40 }, (_, n) => 0.9 ** n);
  const pairs = spectrumOf(taps, 16);
  for (let k = 0; k <= 8; k++) {
    let [re, im] = [0, 0];
    taps.forEach((tap, n) => {
      re += tap * Math.cos(2 * Math.PI * k * n / 16);
      im -= tap * Math.sin(2 * Math.PI * k * n / 16);
    });
    assert.ok(Math.hypot(pairs[2 * k] - re, pairs[2 * k + 1] - im) < 1e-12, `bin ${k}`);
  }
});

test("what cannot be had from elsewhere is told, and the voice stays as it was", async () => {
  const source = elsewhere([]);
  const { mixer, heard } = mixerOf(set(false), new Engine(set(false), suppliedBy({
    ...source,
    kernels: (wanted) => (wanted.index === 1 && wanted.turned.volume < 5 ? Promise.reject(new Error("nobody answers")) : source.kernels(wanted)),
  })));
  await mixer.load(sound({ true: [0.5, 0.5], matched: [0.5, 0.9], peaks: [0.7, 0.4] }), () => {});
  await settled(mixer);
  const { kernels } = mixer.now[1];
  mixer.turn({ ...mixer.turned, volume: 3 });
  await settled(mixer);
  assert.deepEqual(heard.failed, ["nobody answers"]);
  assert.equal(mixer.now[1].kernels, kernels);
  assert.equal(mixer.ready, 1);
});
