// Plays through the panel with a file in place of the sound card's input, and compares what is heard with the engine's ratio.
// `node panel-live.js FOLDER` starts the program that DRYWIRE names.

import assert from "node:assert/strict";
import { writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { launched } from "./look.js";
import { hearing, started } from "./panel-window.js";
import { pcm16 } from "./sounds.js";

const RATE = 44100;
const folder = resolve(process.argv[2]);

/** Noise that is the same in every run, as a WAV of 16 bits. */
function noise(seconds) {
  let state = 1;
  const next = () => {
    state = Math.imul(state, 1664525) + 1013904223 | 0;
    return state >> 18;
  };
  const path = join(folder, "input.wav");
  writeFileSync(path, pcm16(RATE, 1, Int16Array.from({ length: RATE * seconds }, next)));
  return path;
}

const { panel, address } = await started(join(folder, "guitars"));
const browser = await launched(...hearing(noise(12)));
const page = await browser.newPage({ viewport: { width: 1400, height: 900 } });
const faults = [];
page.on("pageerror", (error) => faults.push(error.message));
// The page's own nodes are listened to, not others made like them.
await page.addInitScript(() => {
  globalThis.nodes = [];
  globalThis.AudioWorkletNode = class extends AudioWorkletNode {
    constructor(context, name, options) {
      super(context, name, options);
      globalThis.nodes.push({ context, name, node: this });
    }
  };
  const open = AudioContext.prototype.createMediaStreamSource;
  AudioContext.prototype.createMediaStreamSource = function (stream) {
    return globalThis.tap = open.call(this, stream);
  };
  const connect = GainNode.prototype.connect;
  GainNode.prototype.connect = function (...to) {
    globalThis.lastGain = this;
    return connect.apply(this, to);
  };
});
await page.goto(address);
await page.locator("a.button").click();
await page.locator("#name").fill("Live one");
await page.locator("button.strong").click();
await page.waitForSelector("#undo");
await page.locator('nav >> text="Hear"').click();
await page.waitForSelector("#live-part");
await page.locator("#live-part summary").click();
await page.locator("#live").click();
await page.waitForFunction(() => document.querySelector("#live").getAttribute("aria-pressed") === "true" || !document.querySelector("#live-trouble").hidden);
assert.equal(await page.locator("#live-trouble").textContent(), "");
console.log(await page.locator("#live-told").textContent());
const level = () => page.evaluate(() => globalThis.lastGain.gain.value);
await page.waitForFunction(() => Math.abs(globalThis.lastGain.gain.value - 0.1) < 1e-3);
assert.ok(Math.abs(await level() - 0.1) < 1e-3, "it begins at −20 dB");

/** Returns how far what is heard lies from the engine's ratio at its worst, 80 Hz to 8 kHz, in dB, and how late it is. */
const compared = (voice) => page.evaluate(async (name) => {
  const { context, node } = globalThis.nodes.findLast((own) => own.name === "live");
  const both = new ChannelMergerNode(context, { numberOfInputs: 2 });
  const recorder = new AudioWorkletNode(context, "recorder", { numberOfOutputs: 0 });
  globalThis.tap.connect(both, 0, 0);
  node.connect(both, 0, 1);
  const blocks = [];
  recorder.port.onmessage = ({ data }) => blocks.push(...data);
  both.connect(recorder);
  while (blocks.length < context.sampleRate * 4 / 128) await new Promise((rest) => setTimeout(rest, 50));
  both.disconnect();
  const [x, y] = [0, 1].map((c) => Float64Array.from(blocks.flatMap((block) => [...block[c]])));
  const search = new URLSearchParams({ voice: name, through: "series", take: "open-chord" });
  const bytes = await (await fetch(`${location.pathname}kernel?${search}`)).arrayBuffer();
  const length = new DataView(bytes).getUint32(0, true);
  const { before } = JSON.parse(new TextDecoder().decode(new Uint8Array(bytes, 4, length)));
  const taps = new Float32Array(bytes.slice(4 + length));
  const at48 = (frequency) => taps.reduce(([re, im], tap, n) => {
    const turn = -2 * Math.PI * frequency / 48000 * (n - before);
    return [re + tap * Math.cos(turn), im + tap * Math.sin(turn)];
  }, [0, 0]);
  // The cross-spectrum of what goes in and what comes out, over pieces with a Hann window, told at single frequencies.
  const SIZE = 8192;
  const { sampleRate } = context;
  let worst = 0;
  let late = 0;
  for (let bin = Math.ceil(80 * SIZE / sampleRate); bin < 8000 * SIZE / sampleRate; bin = Math.ceil(bin * 1.12)) {
    let [re, im, own] = [0, 0, 0];
    for (let start = 4096; start + SIZE < x.length; start += SIZE / 2) {
      const sums = [0, 0, 0, 0];
      for (let n = 0; n < SIZE; n += 1) {
        const turn = -2 * Math.PI * bin * n / SIZE;
        const hann = 1 - Math.cos(2 * Math.PI * n / SIZE);
        sums[0] += hann * x[start + n] * Math.cos(turn);
        sums[1] += hann * x[start + n] * Math.sin(turn);
        sums[2] += hann * y[start + n] * Math.cos(turn);
        sums[3] += hann * y[start + n] * Math.sin(turn);
      }
      re += sums[2] * sums[0] + sums[3] * sums[1];
      im += sums[3] * sums[0] - sums[2] * sums[1];
      own += sums[0] ** 2 + sums[1] ** 2;
    }
    const [a, b] = at48(bin * sampleRate / SIZE);
    worst = Math.max(worst, Math.abs(20 * Math.log10(Math.hypot(re, im) / own / Math.hypot(a, b))));
    if (late === 0) {
      const turn = Math.atan2(b, a) - Math.atan2(im, re);
      late = ((turn % (2 * Math.PI)) + 2 * Math.PI) % (2 * Math.PI) / (2 * Math.PI * bin * sampleRate / SIZE);
    }
  }
  return { worst, late };
}, voice);

for (const voice of ["parallel", "split-a"]) {
  await page.locator(`#voice-${voice}`).click();
  await page.waitForFunction((name) => location.search.includes(`voice=${name}`), voice);
  await new Promise((rest) => setTimeout(rest, 800));
  const { worst, late } = await compared(voice);
  console.log(`${voice}: at most ${worst.toFixed(3)} dB from the engine's ratio, ${(1000 * late).toFixed(2)} ms late`);
  assert.ok(worst < 0.3 && late < 0.005, `${voice}: ${worst} dB, ${late} s`);
}

// Out of sight it is silent.
await page.evaluate(() => {
  Object.defineProperty(document, "hidden", { get: () => true, configurable: true });
  document.dispatchEvent(new Event("visibilitychange"));
});
await page.waitForFunction(() => globalThis.lastGain.gain.value < 1e-4);
await page.locator("#live").click();
await page.waitForFunction(() => document.querySelector("#live").getAttribute("aria-pressed") === "false");
assert.deepEqual(faults, []);
await browser.close();

panel.kill();
