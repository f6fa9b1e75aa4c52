// Hears in the panel as a person does: from the questions to one's own take in parallel, against the files that the program
// writes, while a knob is turned, and what is no sound. `node panel-hear.js FOLDER` starts the program that DRYWIRE names; with
// DRYWIRE_SCREENSHOTS set it leaves pictures in FOLDER.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { existsSync, mkdirSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { launched } from "./look.js";
import { looked, started } from "./panel-window.js";
import { wave } from "./sounds.js";

const folder = resolve(process.argv[2]);
const guitars = join(folder, "guitars");
const own = join(guitars, "window-seat");
const { panel, address } = await started(guitars);
const browser = await launched();
const page = await browser.newPage({ viewport: { width: 1400, height: 900 } });
const faults = [];
page.on("response", (answer) => { if (answer.status() === 403) faults.push(answer.url()); });
// What waits in the page would wait for ever.
page.on("pageerror", (error) => {
  console.error(error.stack);
  process.exit(1);
});
await page.addInitScript(() => {
  globalThis.changes = 0;
  document.addEventListener("heard", () => { globalThis.changes += 1; });
});
/** Does what changes what is heard, and waits until it is. */
async function sounding(change) {
  const before = await page.evaluate(() => globalThis.changes);
  await change();
  await page.waitForFunction((had) => globalThis.changes > had, before);
}
page.on("console", (message) => { if (!/422/.test(message.text())) faults.push(message.text()); });

/** Writes a take and returns its path. */
function take(name, rate, channels, seconds) {
  const path = join(folder, name);
  writeFileSync(path, wave(rate, channels, seconds));
  return path;
}

let presses = 0;
const press = async (selector) => { presses += 1; await page.locator(selector).click(); };
await page.goto(address);
await page.waitForSelector("a.button");
await press("a.button");
await page.locator("#name").fill("Window seat");
await page.locator("#a_1").fill("3.61k");
await page.locator("#b_1").fill("4.05k");
await press("button.strong");
await page.waitForSelector("#undo");
await press('nav >> text="Hear"');
await page.waitForSelector("#player");
const [chooser] = await Promise.all([page.waitForEvent("filechooser"), press("label:has(#file)")]);
presses += 1;
await chooser.setFiles(take("my take.wav", 48000, 1, 3));
await page.waitForFunction(() => document.querySelector("#take")?.value === "own/my-take.wav");
await press("#voice-parallel");
await page.waitForFunction(() => location.search.includes("voice=parallel"));
await sounding(() => press("#play"));
assert.ok(presses <= 8, `${presses} presses`);
await page.waitForFunction(() => Number(document.querySelector("#meter").value) > -60);
await page.waitForFunction(() => document.querySelector('[data-plain="parallel"]').textContent !== "");
console.log(`${presses} presses to the first sound; parallel: ${await page.locator('[data-plain="parallel"]').textContent()}; ${await page.locator('[data-figures="parallel"]').textContent()}`);
if (process.env.DRYWIRE_SCREENSHOTS) await page.screenshot({ path: join(folder, "hear.png"), fullPage: true });

// What is played is what the files have.
const render = (name, level, then = null) => page.evaluate(async ([voice, of, other]) => {
  const { base } = document.body.dataset;
  const search = new URLSearchParams(location.search);
  const floats = async (what) => {
    const bytes = await (await fetch(`${location.pathname}${what}?${search}`)).arrayBuffer();
    const length = new DataView(bytes).getUint32(0, true);
    const head = JSON.parse(new TextDecoder().decode(new Uint8Array(bytes, 4, length)));
    let at = 4 + length;
    return { head, lists: head.lengths.map((n) => new Float32Array(bytes.slice(at, at += 4 * n))) };
  };
  const { head, lists: planes } = await floats("sound");
  search.set("voice", voice);
  const { head: { before }, lists: feeds } = await floats("kernel");
  const levels = await (await fetch(`${location.pathname}levels?${search}`)).json();
  const db = levels.voices.find((own) => own.name === voice)[of];
  const context = new OfflineAudioContext({ numberOfChannels: head.coils ? 1 : head.channels, length: head.frames, sampleRate: head.rate });
  await context.audioWorklet.addModule(`${base}convolver.js`);
  const node = new AudioWorkletNode(context, "convolver", { numberOfInputs: 0, outputChannelCount: [head.coils ? 1 : head.channels] });
  node.port.postMessage({ sound: { planes, lead: head.lead, frames: head.frames, coils: head.coils, ahead: head.ahead } });
  node.port.postMessage({ loops: false, kernel: { id: voice, feeds, before }, hear: { id: voice, gain: 10 ** (db / 20), number: 1 }, play: 0 });
  node.connect(context.destination);
  if (other) {
    search.set("voice", other);
    const next = await floats("kernel");
    node.port.postMessage({ kernel: { id: other, feeds: next.lists, before: next.head.before } });
    for (const at of [0.5, 0.505]) {
      const id = at === 0.5 ? other : voice;
      context.suspend(at).then(async () => {
        node.port.postMessage({ hear: { id, gain: 10 ** (db / 20), number: 2 } });
        await new Promise((rest) => setTimeout(rest, 50));
        context.resume();
      });
    }
  }
  await new Promise((rest) => setTimeout(rest, 200));
  const made = await context.startRendering();
  return Array.from({ length: made.numberOfChannels }, (_, c) => [...made.getChannelData(c)]);
}, [name, level, then]);

/** Returns the samples of a 24-bit WAV, channel after channel. */
function samples(path) {
  const bytes = readFileSync(path);
  const channels = bytes.readUInt16LE(22);
  const at = bytes.indexOf("data") + 8;
  const frames = (bytes.length - at) / 3 / channels;
  return Array.from({ length: channels }, (_, c) => Float64Array.from({ length: Math.floor(frames) }, (_, i) => bytes.readIntLE(at + 3 * (channels * i + c), 3) / 2 ** 23));
}

/** Returns how far two sounds are from each other, in decibels against the second. */
function null_(one, other) {
  let [off, all] = [0, 0];
  other.forEach((plane, c) => plane.forEach((sample, i) => {
    off += (one[c][i] - sample) ** 2;
    all += sample ** 2;
  }));
  return 10 * Math.log10(off / all);
}

const worst = {};
async function compared(what, source, voices, guitar = own, more = []) {
  const out = join(folder, `set-${what}`);
  execFileSync(process.env.DRYWIRE, ["hear", ...(source ? [source] : []), "--guitar", join(guitar, "guitar.toml"), "--out", out, "--no-page", ...more], { stdio: "ignore" });
  for (const name of voices) {
    for (const [level, sub] of [["true_db", "as-is"], ["matched_db", "matched"]]) {
      const off = null_(await render(name, level), samples(join(out, sub, `${name.replaceAll(":", "-")}.wav`)));
      worst[what] = Math.max(worst[what] ?? -Infinity, off);
      assert.ok(off < -80, `${what} ${name} ${level}: ${off} dB`);
    }
  }
}
const names = await page.evaluate(() => [...document.querySelectorAll("[data-voice]")].map((own) => own.value));
await compared("own", join(own, "takes/my-take.wav"), names);

// Switching clicks nowhere, not even where a wish comes within a fade: no step from sample to sample is larger than the programmes' own.
const step = (samples, from, to) => samples.slice(from, to).reduce((most, sample, i, all) => (i ? Math.max(most, Math.abs(sample - all[i - 1])) : 0), 0);
const [series, parallel, switched] = [await render("series", "true_db"), await render("parallel", "true_db"), await render("series", "true_db", "parallel")];
const largest = Math.max(step(series[0], 23900, 25700), step(parallel[0], 23900, 25700));
assert.ok(step(switched[0], 23900, 25700) <= largest, `${step(switched[0], 23900, 25700)} against ${largest}`);
const apart = switched[0].slice(24000, 26000).some((sample, i) => Math.abs(sample - series[0][24000 + i]) > 1e-3);
assert.ok(apart, "it switched");
console.log(`largest step at a switch ${step(switched[0], 23900, 25700).toFixed(4)}, of the programmes ${largest.toFixed(4)}`);

// A knob is turned while it plays, and it is heard within what is promised; undone, it is heard again.
const turned = await page.evaluate(async () => {
  const times = { curve: [], sound: [] };
  for (let i = 0; i < 12; i += 1) {
    const knob = document.querySelector('[data-place="controls.volume.turned"]');
    const before = document.querySelector(".curves-drawn").outerHTML;
    const sounded = new Promise((told) => document.addEventListener("heard", () => told(performance.now()), { once: true }));
    const from = performance.now();
    knob.value = String(i % 2 ? 9 - i / 10 : 4 + i / 10);
    knob.dispatchEvent(new Event("input", { bubbles: true }));
    while (document.querySelector(".curves-drawn").outerHTML === before) await new Promise(requestAnimationFrame);
    times.curve.push(performance.now() - from);
    times.sound.push(await sounded - from);
    await new Promise((rest) => setTimeout(rest, 150));
  }
  const median = (all) => all.sort((a, b) => a - b)[Math.floor(all.length / 2)];
  return { curve: median(times.curve), sound: median(times.sound) };
});
console.log(`knob to curve ${turned.curve.toFixed(0)} ms, to sound ${turned.sound.toFixed(0)} ms (medians of 12)`);
await page.waitForFunction(() => document.querySelector("#saved").textContent === "saved");
await compared("turned", join(own, "takes/my-take.wav"), ["series", "parallel", names[2]]);
await sounding(() => page.locator("#undo").click());
await page.locator("#play").click();
assert.equal(await page.locator("#play").textContent(), "Play");

// The chord that is plucked for the guitar, and takes at other rates and of two channels.
await page.locator("#take").selectOption("");
await page.waitForFunction(() => !location.search.includes("own"));
await page.waitForFunction(() => document.querySelector("#saved").textContent === "saved");
await compared("plucked", null, ["series", "parallel", names.at(-1)]);
for (const [rate, channels] of [[44100, 2], [96000, 1]]) {
  const name = `at ${rate}.wav`;
  await page.locator("#file").setInputFiles(take(name, rate, channels, 1.5));
  await page.waitForFunction((wanted) => document.querySelector("#take")?.value === wanted, `own/at-${rate}.wav`);
  await compared(`${rate}`, join(own, `takes/at-${rate}.wav`), ["parallel", names[2]]);
}
// Positions of a guitar whose pickups a selector joins.
mkdirSync(join(guitars, "joined"));
execFileSync(process.env.DRYWIRE, ["presets", "copy", "set-neck", join(guitars, "joined/guitar.toml")], { stdio: "ignore" });
const here = page.url();
await page.goto(new URL("../../joined/hear/?heard=positions&take=phrase", here).href);
await page.waitForSelector("[data-voice]");
await compared("positions", "phrase", await page.evaluate(() => [...document.querySelectorAll("[data-voice]")].map((one) => one.value)), join(guitars, "joined"), ["--arrangements", "positions"]);
await page.goto(here);
await page.waitForFunction(() => document.querySelector('[data-plain="parallel"]').textContent !== "");
console.log(`null against the files, dB: ${JSON.stringify(worst, (_, value) => (typeof value === "number" ? Math.round(value) : value))}`);

// The set that is written from here is the command's.
await page.locator("#write").click();
await page.waitForFunction(() => /^Written: /.test(document.querySelector("#written").textContent));
const [set] = readdirSync(join(own, "sets"));
assert.ok(existsSync(join(own, "sets", set, "as-is/parallel.wav")));
assert.deepEqual(readFileSync(join(own, "sets", set, "as-is/parallel.wav")), readFileSync(join(folder, "set-96000/as-is/parallel.wav")));

// Behind the amplifier it is what the files of a set that is heard through it have, told beside what it is at the jack.
const amplified = (name, level) => page.evaluate(async ([voice, of]) => {
  const search = new URLSearchParams(location.search);
  const floats = async (what, more) => {
    const bytes = await (await fetch(`${location.pathname}${what}?${new URLSearchParams([...search, ...Object.entries(more)])}`)).arrayBuffer();
    const length = new DataView(bytes).getUint32(0, true);
    const head = JSON.parse(new TextDecoder().decode(new Uint8Array(bytes, 4, length)));
    let at = 4 + length;
    return { head, lists: head.lengths.map((n) => new Float32Array(bytes.slice(at, at += 4 * n))) };
  };
  const { head, lists: planes } = await floats("sound", {});
  search.set("voice", voice);
  const levels = await (await fetch(`${location.pathname}levels?${search}`)).json();
  const gain = 10 ** (levels.voices.find((own) => own.name === voice)[of] / 20);
  const context = new OfflineAudioContext({ numberOfChannels: head.coils ? 1 : head.channels, length: head.frames, sampleRate: head.rate });
  await context.audioWorklet.addModule(`${document.body.dataset.base}convolver.js`);
  const node = new AudioWorkletNode(context, "convolver", { numberOfInputs: 0, outputChannelCount: [head.coils ? 1 : head.channels] });
  node.port.postMessage({ sound: { planes, lead: head.lead, frames: head.frames, coils: head.coils, ahead: head.ahead } });
  // In two parts, the later first.
  const middle = Math.floor(head.frames / 2);
  const later = await floats("amplified", { first: middle, count: head.frames - middle });
  const sooner = await floats("amplified", { first: 0, count: middle, drive: later.head.drive });
  for (const part of [later, sooner]) node.port.postMessage({ amplified: { id: "behind", first: part.head.first, planes: part.lists } });
  node.port.postMessage({ loops: false, hear: { id: "behind", gain, number: 1 }, play: 0 });
  node.connect(context.destination);
  await new Promise((rest) => setTimeout(rest, 200));
  const made = await context.startRendering();
  return Array.from({ length: made.numberOfChannels }, (_, c) => [...made.getChannelData(c)]);
}, [name, level]);
await page.locator("#amp-driven").check({ force: true });
await page.waitForFunction(() => location.search.includes("amp=driven"));
// What is chosen is there when one comes back from another place.
const shownBefore = await page.evaluate(() => location.search);
await page.locator('nav >> text="Plan"').click();
await page.waitForSelector("#wanted");
await page.locator('nav >> text="Hear"').click();
await page.waitForSelector("#player");
assert.equal(await page.evaluate(() => location.search), shownBefore);
assert.ok(await page.locator("#amp-driven").isChecked());
// The guitar's knob and the playback have names of their own.
assert.deepEqual(await page.locator("#player .volume, #live-part .volume").evaluateAll((all) => all.map((own) => own.firstChild.textContent.trim())), ["Playback level", "Playback level"]);
await sounding(() => page.locator("#play").click());
await page.waitForFunction(() => /^at the jack .*; at the loudspeaker /.test(document.querySelector('[data-plain="parallel"]').textContent));
console.log(`parallel, driven: ${await page.locator('[data-plain="parallel"]').textContent()}; ${await page.locator('[data-figures="parallel"]').textContent()}`);
assert.match(await page.locator('[data-figures="parallel"]').textContent(), /^at the jack loudness −\d+\.\d LU; at the loudspeaker loudness [−+]\d/);
const drivenSet = join(folder, "set-driven");
execFileSync(process.env.DRYWIRE, ["hear", join(own, "takes/at-96000.wav"), "--guitar", join(own, "guitar.toml"), "--out", drivenSet, "--no-page", "--amp", "driven"], { stdio: "ignore" });
for (const name of ["series", "parallel", names[2]]) {
  for (const [level, sub] of [["true_db", "as-is"], ["matched_db", "matched"]]) {
    const off = null_(await amplified(name, level), samples(join(drivenSet, sub, `${name}.wav`)));
    worst.driven = Math.max(worst.driven ?? -Infinity, off);
    assert.ok(off < -80, `driven ${name} ${level}: ${off} dB`);
  }
}
// Voices and knobs are heard behind it while it plays, and the next setting only with its own level.
await sounding(() => page.locator("#voice-series").check({ force: true }));
await sounding(() => page.locator('[data-place="controls.volume.turned"]').evaluate((knob) => {
  knob.value = "6";
  knob.dispatchEvent(new Event("input", { bubbles: true }));
}));
await page.waitForFunction(() => document.querySelector("#saved").textContent === "saved");
await sounding(() => page.locator("#undo").click());
await sounding(() => page.locator("#amp-hard").check({ force: true }));
await page.waitForFunction(() => Number(document.querySelector("#meter").value) > -60);
console.log(`null against the files of a driven set: ${worst.driven.toFixed(0)} dB`);
await page.locator("#write").click();
await page.waitForFunction(() => /^Written: .*-hard$/.test(document.querySelector("#written").textContent));
const hardSet = readdirSync(join(own, "sets")).find((name) => name.endsWith("-hard"));
assert.equal(JSON.parse(readFileSync(join(own, "sets", hardSet, "figures.json"))).amplifier.setting, "hard");
await sounding(() => page.locator("#amp-off").check({ force: true }));
await page.waitForFunction(() => !/loudspeaker/.test(document.querySelector('[data-plain="parallel"]').textContent));
await page.locator("#voice-parallel").check({ force: true });
await page.locator("#play").click();
assert.match(await page.locator("#live-part").textContent(), /without the amplifier/);

// All of the player is at hand by the keyboard alone.
const reached = (id) => page.waitForFunction((wanted) => document.activeElement.id === wanted, id);
await page.locator("#main").focus();
for (let tabs = 0; tabs < 12 && await page.evaluate(() => document.activeElement.id) !== "play"; tabs += 1) await page.keyboard.press("Tab");
await reached("play");
await sounding(() => page.keyboard.press("Space"));
await page.waitForFunction(() => document.querySelector("#play").textContent === "Stop");
await page.keyboard.press("Tab");
await reached("loops");
await page.keyboard.press("Tab");
await sounding(() => page.keyboard.press("ArrowRight"));
assert.equal(await page.locator("#level-matched").isChecked(), true);
await page.keyboard.press("Tab");
await reached("level");
await page.keyboard.press("ArrowLeft");
assert.equal(await page.locator("#level-told").textContent(), "−13 dB");
await page.keyboard.press("Tab");
const flagged = (part) => page.waitForFunction((wanted) => document.activeElement === document.querySelector(`#wave ${wanted}`), part);
await flagged(".seek");
await page.keyboard.press("End");
await page.waitForFunction(() => Number(document.querySelector("#wave .seek").getAttribute("aria-valuenow")) > 1);
await page.keyboard.press("Home");
// A part of it is looped: whatever is told of the place from then on lies between the flags.
await page.keyboard.press("Tab");
await flagged(".flag-start");
for (let step = 0; step < 5; step += 1) await page.keyboard.press("ArrowRight");
await page.keyboard.press("Tab");
await flagged(".flag-end");
for (let step = 0; step < 7; step += 1) await page.keyboard.press("ArrowLeft");
await page.waitForFunction(() => {
  const now = Number(document.querySelector("#wave .seek").getAttribute("aria-valuenow"));
  return now >= 0.5 && now < 0.8;
});
const placed = await page.evaluate(async () => {
  const all = [];
  while (all.length < 40) {
    await new Promise(requestAnimationFrame);
    all.push(Number(document.querySelector("#wave .seek").getAttribute("aria-valuenow")));
  }
  return all;
});
assert.ok(placed.every((now) => now >= 0.5 && now <= 0.8), placed.join(" "));
assert.ok(placed.some((now, i) => i && now < placed[i - 1]), `it comes again: ${placed.join(" ")}`);
await sounding(() => page.keyboard.press("1"));
await page.waitForFunction(() => location.search.includes("voice=series"));
await sounding(() => page.keyboard.press("2"));
await page.waitForFunction(() => location.search.includes("voice=parallel"));
await sounding(() => page.keyboard.press("m"));
assert.equal(await page.locator("#level-true").isChecked(), true);
await page.locator("#play").click();

// Blind, nothing tells which of two is heard, and guessing is told for what it is.
await page.locator("#blind-place summary").click();
await page.locator("#blind-trials").selectOption({ index: 0 });
await page.locator("#blind-start").click();
await page.waitForSelector(".blind-run:not([hidden])");
assert.equal(await page.locator(".voices").isVisible(), false);
const trials = Number(await page.locator("#blind-trials option").first().textContent());
for (let trial = 0; trial < trials; trial += 1) {
  for (const ear of ["a", "b", "x"]) {
    await sounding(() => page.keyboard.press(ear));
  }
  await page.keyboard.press(trial % 2 ? "1" : "2");
}
await page.waitForSelector("#blind-result:not([hidden])");
assert.match(await page.locator("#blind-result").textContent(), new RegExp(`of ${trials} right, p = `));
assert.equal(await page.locator(".voices").isVisible(), true);
await page.locator("#blind-place summary").click();
await page.locator("#play").click();

// A take that is renamed says what it is called then, in the part in which that was asked for.
await page.locator("#take-part summary").click();
await page.locator("#take-name").fill("Second Try!");
await page.locator("#rename-take").click();
await page.waitForFunction(() => document.querySelector("#take-told")?.textContent === "It is called second-try.wav now.");
assert.equal(await page.locator("#take-part").evaluate((own) => own.open), true);
assert.equal(await page.locator("#take").inputValue(), "own/second-try.wav");

// What is no sound is refused in words, and nothing of it stays.
writeFileSync(join(folder, "letter.wav"), "Dear luthier");
const before = readdirSync(join(own, "takes"));
await page.locator("#file").setInputFiles(join(folder, "letter.wav"));
// It is said where it was added.
await page.waitForFunction(() => !document.querySelector("#take-trouble").hidden);
console.log(await page.locator("#take-trouble").textContent());
assert.equal(await page.locator("#sound-trouble").isVisible(), false);
assert.deepEqual(readdirSync(join(own, "takes")), before);

// An input that is not to be had is said.
await page.locator("#live-part summary").click();
await page.locator("#live").click();
await page.waitForFunction(() => /input/.test(document.querySelector("#live-trouble").textContent));
assert.equal(await page.locator("#live").getAttribute("aria-pressed"), "false");

await looked(page, folder, "hear");
assert.deepEqual(faults, []);
await browser.close();
panel.kill();
