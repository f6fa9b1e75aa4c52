// Confirms in the panel what was soldered by single notes that ring while the switch is thrown: recorded from a file in place of the
// sound card's input, notes and throws counted as they come; a longer take added; what is kept is byte for byte what the command keeps
// of the same take. `node panel-flips.js FOLDER` starts the program that DRYWIRE names; with DRYWIRE_SCREENSHOTS set it leaves
// pictures in FOLDER.

import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { mkdirSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { entered, hearing, pictured, placed, seenAlike, tabTo, verdictIn } from "./panel-window.js";
import { BENCH, RATE, heardThrough, recordedAs } from "./played.js";

const folder = resolve(process.argv[2]);
const guitars = join(folder, "guitars");
const own = join(guitars, "bench");
const file = join(own, "guitar.toml");
mkdirSync(own, { recursive: true });
writeFileSync(file, BENCH);
/** How long a note rings, and when the switch is thrown meanwhile, in seconds. */
const RINGS = 2.5;
const THROWN = [0.5, 1, 1.55, 2.05];

/**
 * Returns a take of these notes, each ringing while the switch is thrown between its first throw and its third: it breaks for 3 ms
 * before it makes, and clicks. Silence of so many seconds follows.
 */
function flipped(number, notes, after) {
  const voices = heardThrough(folder, file, number, notes.join(" "), "--tempo", String(60 / RINGS));
  const states = [voices["mode:1"], voices["mode:3"]];
  const samples = new Array(RATE).fill(0);
  let state = 0;
  for (let note = 0; note < notes.length; note += 1) {
    const [from, to] = [note, note + 1].map((n) => Math.round(n * RINGS * RATE));
    const throws = THROWN.map((at) => from + Math.round(at * RATE));
    for (let n = from; n < Math.min(to, states[0].length); n += 1) {
      const since = throws.map((at) => n - at).filter((frames) => frames >= 0).at(-1) ?? Infinity;
      if (since === 0) state = 1 - state;
      samples.push(since < 0.003 * RATE ? 0 : states[state][n] + (since < 0.0035 * RATE ? 500 : 0));
    }
  }
  return recordedAs(join(folder, `notes-${number}.wav`), [...samples, ...new Array(Math.round(after * RATE)).fill(0)]);
}

const FEW = ["E2", "D3", "B3", "A2", "G3"];
const MANY = ["E2", "G2", "A2", "A2", "C3", "E3", "D3", "F#3", "B3", "G3", "C4", "E4", "C4", "E4", "E4", "B4"];
const [short, long] = [flipped(1, FEW, 15), flipped(2, MANY, 1)];

const { context, page, faults, end } = await entered(guitars, "--autoplay-policy=no-user-gesture-required", ...hearing(short));
await placed(page, "Confirm");
await page.waitForSelector("#run");
const verdict = (words) => verdictIn(page, words);
const trouble = () => page.locator("#sound-trouble").textContent();
const counts = (notes, throws) => page.waitForFunction(([notes, throws]) => Number(document.getElementById("counted").textContent) >= notes
  && Number(document.getElementById("thrown").textContent) >= throws || document.getElementById("sound-trouble").textContent, [notes, throws], { timeout: 60000 });
const stage = (words) => page.waitForFunction((words) => document.getElementById("stage").textContent.includes(words) || document.getElementById("sound-trouble").textContent, words, { timeout: 60000 });
const told = async () => (await page.locator(".command pre").textContent()).trim();

// The other way to record says what to play, and keeps the caution.
await page.locator('[data-place="way"]').selectOption("flips");
await page.waitForSelector("#between");
await verdict("Nothing was recorded so far");
const how = `${await page.locator(".how-to").textContent()} ${await page.locator("#record").textContent()}`;
for (const words of ["leave the amplifier off", "throw the switch to mode:3 and back every half second", "16 notes or more", "never two at once"]) assert.ok(how.includes(words), words);
assert.equal(await told(), `drywire confirm --guitar '${file}' --flips notes.wav --between 'mode:1,mode:3'`);

// By keyboard alone: recorded, counted while they ring, ended.
await tabTo(page, "#run");
await page.keyboard.press("Enter");
await stage("the switch stands in mode:1");
assert.equal(await trouble(), "");
await counts(1, 2);
await stage("throw the switch every half second; then the next note");
await counts(3, 10);
assert.equal(await trouble(), "");
await counts(FEW.length, FEW.length * THROWN.length);
assert.equal(await trouble(), "");
const most = Number(await page.locator("#thrown").textContent());
assert.equal(await page.locator("#counted").textContent(), "5");
await page.keyboard.press("Enter");
await stage("Kept: 5 notes, the switch thrown ");
assert.equal(await trouble(), "");
const [, thrown] = (await page.locator("#stage").textContent()).match(/^Kept: 5 notes, the switch thrown (\d+) times between mode:1 and mode:3\.$/);
// A note that is damped steps as well.
for (const count of [most, Number(thrown)]) assert.ok(count >= 20 && count <= 23, `${count} throws of 20`);
await verdict("mode:3: consistent");

/** Holds what is kept to what the command keeps of the take that the page names, which it answers with. */
async function held() {
  const record = readFileSync(join(own, "readings/confirm.toml"), "utf8");
  const take = join(own, "confirmed", record.match(/\[flips\][^[]*file = "(.*)"/)[1]);
  const [, first, later] = record.match(/\[flips\][^[]*first = "(.*)"\s*later = "(.*)"/);
  assert.equal(await told(), `drywire confirm --guitar '${file}' --flips '${take}' --between '${first},${later}'`);
  const away = join(folder, "command");
  mkdirSync(away, { recursive: true });
  writeFileSync(join(away, "guitar.toml"), readFileSync(file));
  const before = new Set(readdirSync(join(away, "readings")));
  const ran = spawnSync(process.env.DRYWIRE, ["confirm", "--flips", take, "--between", `${first},${later}`, "--guitar", join(away, "guitar.toml"), "--save", "--json"]);
  assert.ok(ran.status < 2, ran.stderr.toString());
  const [saved] = readdirSync(join(away, "readings")).filter((name) => !before.has(name));
  assert.deepEqual(readFileSync(join(own, "readings/confirm-flips.json")), readFileSync(join(away, "readings", saved)));
  return JSON.parse(ran.stdout);
}
mkdirSync(join(folder, "command/readings"), { recursive: true });
await held();

// A longer take is dropped, and takes the place of that one, whose file stays.
await page.evaluate(async ([base64]) => {
  const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
  const dataTransfer = new DataTransfer();
  dataTransfer.items.add(new File([bytes], "all over the neck.wav", { type: "audio/wav" }));
  document.body.dispatchEvent(new DragEvent("drop", { dataTransfer, bubbles: true, cancelable: true }));
}, [readFileSync(long).toString("base64")]);
await stage("Kept: 16 notes");
await page.waitForFunction(() => document.querySelector(".takes li")?.textContent.includes("all-over-the-neck.wav"));
await verdict("mode:3: consistent");
assert.equal(await page.locator(".takes li").count(), 1);
assert.match(await page.locator(".takes li").textContent(), /^mode:1 and mode:3 16 notes, \d+ throws, /);
assert.equal(readdirSync(join(own, "confirmed")).length, 2);
const answer = await held();
const words = await page.locator(".told-of-it").textContent();
for (const part of [...answer.takes[1].words.split("; "), ...answer.notes]) assert.ok(words.includes(part), part);
assert.equal(answer.takes[1].strums, 16);
assert.equal(answer.takes[1].consistent_with[0].name, "parallel");
assert.equal(await page.locator(".verdicts tbody tr").count(), answer.differences[0].bands.length);
await pictured(page);
assert.equal(readFileSync(file, "utf8"), BENCH, "nothing of it is in the guitar's file");

await seenAlike({ context, page, faults }, folder, "flips", "mode:3: consistent");

// Throws that are exchanged: what is said to begin in one begins in the other.
await page.locator('[data-place="first"]').selectOption("mode:3");
await page.waitForFunction(() => document.getElementById("between").dataset.later === "mode:1");
await page.locator("#file").setInputFiles(long);
await stage("between mode:3 and mode:1");
await verdict("mode:1: not consistent");

// The same voice twice is no throw, and chords are no notes: both are refused, and the take before stays.
await page.locator('[data-place="later"]').selectOption("mode:3");
await page.waitForFunction(() => document.getElementById("between").dataset.later === "mode:3");
await page.locator("#run").click();
await page.waitForFunction(() => document.getElementById("sound-trouble").textContent.includes("choose two throws that differ"));
await page.locator('[data-place="later"]').selectOption("mode:1");
await page.waitForFunction(() => document.getElementById("between").dataset.later === "mode:1");
const chords = heardThrough(folder, file, 3, "022100:2 022100:2", "--tempo", "60")["mode:1"];
await page.locator("#file").setInputFiles(recordedAs(join(folder, "chords.wav"), chords));
await page.waitForFunction(() => document.getElementById("sound-trouble").textContent.includes("no single note is heard in it"));
// The browser says by itself that this was refused.
assert.deepEqual(faults.splice(0), ["Failed to load resource: the server responded with a status of 422 (Unprocessable Entity)"]);
assert.equal(await page.locator(".takes li").count(), 1);

// The strums have their own record beside it; the notes are taken out, or laid aside with their answer.
await page.locator('[data-place="way"]').selectOption("");
await page.waitForSelector("#voice");
await verdict("Nothing was recorded so far");
await page.locator('[data-place="way"]').selectOption("flips");
await verdict("mode:1: not consistent");
await tabTo(page, "#anew");
await page.keyboard.press("Enter");
await verdict("Nothing was recorded so far");
await page.waitForSelector("#between");
assert.deepEqual(readdirSync(join(own, "readings")).map((name) => name.replace(/20\d\d-\d\d-\d\d/, "DAY")).sort(), ["confirm-DAY.json", "confirm-DAY.toml", "confirm.toml"]);
await page.locator("#file").setInputFiles(short);
await verdict("mode:3: consistent");
await page.locator(".takes button").click();
await verdict("Nothing was recorded so far");

assert.deepEqual(faults, []);
await end();
