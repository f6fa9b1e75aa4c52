// Circuits: the parts that knobs set, put back, give the closed form of the circuit at any position.

import assert from "node:assert/strict";
import { test } from "node:test";
import { apart, over, scope } from "./load.js";

const { Heard, System, fraction, partsAt, shares, weightsOf, ResonanceVoice } = scope(
  ["transform.js", "largest.js", "kernel.js", "circuit.js", "voice.js", "resonance.js"],
  ["Heard", "System", "fraction", "partsAt", "shares", "weightsOf", "ResonanceVoice"]);

const R0 = 100e3;
const OMEGA = 2 * Math.PI * 4000;
const [OHMS, HENRIES] = [8000, 4];
const KNOBS = { volume: { track: 500e3, mid: null, turned: 10 }, tone: { track: 250e3, mid: 0.13, turned: 10 }, cable: 4e-10 };
const CAPACITOR = 22e-9;

/**
 * A coil of 4 H and 8 kΩ on a volume pot whose wiper is the jack, a tone pot with 22 nF before it, a cable: unknowns are
 * hot, jack, the capacitor's end, the coil's current; a resistor of one unit stands where a knob's part belongs.
 */
function guitar() {
  const L = HENRIES * OMEGA / R0;
  const conductive = [];
  const place = (a, b) => {
    for (const row of [a, b]) if (row !== null) conductive.push([row, row, 1]);
    if (a !== null && b !== null) conductive.push([a, b, -1], [b, a, -1]);
  };
  const places = [
    { part: "volume-above", a: 0, b: 1 }, { part: "volume-below", a: 1, b: null },
    { part: "tone", a: 0, b: 2 }, { part: "cable", a: 1, b: null },
  ];
  places.forEach(({ a, b }) => place(a, b));
  // The coil's current flows into hot: e = v_hot + (R + sL) i.
  conductive.push([0, 3, -1], [3, 0, 1], [3, 3, OHMS / R0]);
  return {
    size: 4, impedance: R0, omega: OMEGA, conductive, reactive: [[2, 2, CAPACITOR * OMEGA * R0], [3, 3, L]],
    drives: [[[3, 1]]], output: 1, places,
  };
}

/** The same by the rule of voltage dividers. */
function closedForm(f, { volume, tone, cable }) {
  const w = 2 * Math.PI * f;
  const times = ([ar, ai], [br, bi]) => [ar * br - ai * bi, ar * bi + ai * br];
  const plus = ([ar, ai], [br, bi]) => [ar + br, ai + bi];
  const least = (ohms) => Math.max(ohms, 1e-3);
  const below = least(KNOBS.volume.track * volume / 10);
  const above = least(KNOBS.volume.track * (1 - volume / 10));
  const x = tone / 10;
  const used = least(KNOBS.tone.track * (x <= 0.5 ? 0.26 * x : 0.13 + 0.87 * (2 * x - 1)));
  const jack = over([1, 0], [1 / below, w * cable]);
  const path = plus([above, 0], jack);
  const toneArm = f === 0 ? null : [used, -1 / (w * CAPACITOR)];
  const load = toneArm ? over(times(path, toneArm), plus(path, toneArm)) : path;
  const hot = over(load, plus(load, [OHMS, w * HENRIES]));
  return times(hot, over(jack, path));
}

for (const turned of [
  { volume: 10, tone: 10, cable: 4e-10 }, { volume: 7.3, tone: 10, cable: 1e-10 }, { volume: 2, tone: 3.5, cable: 1.2e-9 },
  { volume: 5, tone: 0, cable: 0 }, { volume: 0.4, tone: 6, cable: 4e-10 },
]) {
  test(`the circuit has its closed form with the knobs at ${JSON.stringify(turned)}`, () => {
    const circuit = guitar();
    const heard = new Heard(circuit, () => [[1, 0]]);
    const frequencies = [20, 82, 440, 1500, 2900, 4100, 7000, 12000, 19000];
    const output = new Float64Array(2 * frequencies.length);
    heard.attach(heard.solved(frequencies), (k) => frequencies[k], partsAt(circuit, KNOBS, turned), [output]);
    frequencies.forEach((f, k) => {
      const { decibels, degrees } = apart([output[2 * k], output[2 * k + 1]], closedForm(f, turned));
      assert.ok(Math.abs(decibels) < 1e-6 && Math.abs(degrees) < 1e-5, `${f} Hz: ${decibels} dB, ${degrees} degrees`);
    });
  });
}

test("a feed hears each coil with its complex weight", () => {
  const circuit = { ...guitar(), drives: [[[3, 1]], [[3, -0.5]]] };
  const heard = new Heard(circuit, () => [[1, 0, 0, 0], [0, 0, 1, 0], [0, 1, 2, 0]]);
  const outputs = [0, 1, 2].map(() => new Float64Array(2));
  heard.attach(heard.solved([1000]), () => 1000, partsAt(circuit, KNOBS, { volume: 6, tone: 6, cable: 1e-10 }), outputs);
  const [one, other, both] = outputs;
  assert.ok(Math.hypot(other[0] + 0.5 * one[0], other[1] + 0.5 * one[1]) < 1e-12);
  // j·one + 2·other = (j − 1)·one.
  assert.ok(Math.hypot(both[0] + one[0] + one[1], both[1] + one[1] - one[0]) < 1e-12);
});

test("a table is solved once and kept", () => {
  const heard = new Heard(guitar(), () => [[1, 0]]);
  const tables = heard.tableOf(10, 5);
  assert.equal(heard.tableOf(10, 5), tables);
  assert.notEqual(heard.tableOf(20, 5), tables);
  assert.deepEqual(tables.slice(3 * heard.size, 4 * heard.size), heard.solved([30]));
});

test("a jack that is ground is silent", () => {
  const heard = new Heard({ ...guitar(), output: null }, () => [[1, 0]]);
  assert.ok(heard.solved([100, 1000]).every((x) => x === 0));
});

test("elimination swaps rows where the diagonal is nothing", () => {
  // x₂ = e and (1 + s/ω₀) x₁ = e, with both equations' diagonals at zero or small.
  const system = new System({ size: 2, omega: 1, impedance: 1, conductive: [[0, 1, 1], [1, 0, 1]], reactive: [[1, 0, 1]], drives: [[[0, 1], [1, 1]]], output: 0, places: [] });
  system.solve(2);
  const voltage = new Float64Array(2);
  system.add(voltage, 0, 1, 0, 1, 0);
  assert.ok(Math.hypot(voltage[0] - 1 / 5, voltage[1] + 2 / 5) < 1e-12, String(voltage));
});

test("an audio taper has its fraction at half, a linear one is where the knob is", () => {
  const audio = { track: 1, mid: 0.13, turned: 0 };
  const wanted = [[0, 0], [2.5, 0.065], [5, 0.13], [7.5, 0.565], [10, 1]];
  for (const [turned, share] of wanted) assert.ok(Math.abs(fraction(audio, turned) - share) < 1e-12, String(turned));
  assert.equal(fraction({ ...audio, mid: null }, 3), 0.3);
});

test("a part that no knob sets is refused", () => {
  const circuit = { ...guitar(), places: [{ part: "blend", a: 0, b: 1 }] };
  assert.throws(() => partsAt(circuit, KNOBS, { volume: 1, tone: 1, cable: 0 }), /no knob sets blend/);
  assert.throws(() => partsAt(guitar(), { ...KNOBS, volume: null }, { tone: 1, cable: 0 }), /that the guitar has not/);
});

test("a source of one channel is shared among the coils as the rule says", () => {
  assert.deepEqual(shares({ kind: "whole" }, 500), [1, 0]);
  assert.deepEqual(shares({ kind: "halves" }, 500), [0.5, 0, 0.5, 0]);
  const near = (ours, wanted) => ours.forEach((x, i) => assert.ok(Math.abs(x - wanted[i]) < 1e-12, `${ours} for ${wanted}`));
  const lead = 1e-4;
  const split = { kind: "split", coils: [[0.03, lead], [0.05, 0]], pickups: [[0.03, 0.05]], speeds: [100, 300] };
  const sine = (place, speed) => Math.sin(2 * Math.PI * 500 * place / speed);
  const mean = (of) => (of(100) + of(300)) / 2;
  const together = mean((speed) => (sine(0.03, speed) + sine(0.05, speed)) ** 2);
  const [one, other] = [0.03, 0.05].map((place) => Math.sqrt(mean((speed) => sine(place, speed) ** 2) / together));
  const turn = 2 * Math.PI * 500 * lead;
  near(shares(split, 500), [one * Math.cos(turn), one * Math.sin(turn), other, 0]);
  // In the bass a coil hears in proportion to its distance to the bridge.
  near(shares({ ...split, speeds: [1e6] }, 0), [3 / 8, 0, 5 / 8, 0]);
});

test("each coil counts at its output, and a source by coils feeds each by itself", () => {
  const voice = { outputs: [1, 1.2], rule: { kind: "halves" } };
  assert.deepEqual(weightsOf(voice, 0)(100), [[0.5, 0, 0.6, 0]]);
  assert.deepEqual(weightsOf(voice, 2)(100), [[1, 0, 0, 0], [0, 0, 1.2, 0]]);
});

test("a resonance alone is what its section does to an impulse", () => {
  const section = { b: [0.2, 0.1, 0.05], a: [-1.3, 0.6], shares: [0.5, 0.25], rate_hz: 48000 };
  const data = { outputs: [1, 1], telling: [1, 1], rule: { kind: "halves" }, section };
  const voice = new ResonanceVoice(data, section, 0);
  const impulse = new Float64Array(4096);
  impulse.forEach((_, n) => {
    const [x, x1, x2] = [n, n - 1, n - 2].map((m) => (m === 0 ? 1 : 0));
    impulse[n] = 0.2 * x + 0.1 * x1 + 0.05 * x2 + 1.3 * (impulse[n - 1] ?? 0) - 0.6 * (impulse[n - 2] ?? 0);
  });
  for (const f of [100, 1000, 4000, 15000]) {
    let [re, im] = [0, 0];
    impulse.forEach((x, n) => {
      re += x * Math.cos(2 * Math.PI * f * n / 48000);
      im -= x * Math.sin(2 * Math.PI * f * n / 48000);
    });
    const { decibels, degrees } = apart(voice.resonance(f), [re, im]);
    assert.ok(Math.abs(decibels) < 1e-9 && Math.abs(degrees) < 1e-8, `${f} Hz: ${decibels}, ${degrees}`);
  }
  // Half a share of a half and half a share of a quarter.
  assert.deepEqual(voice.weights(500), [[0.375, 0]]);
});
