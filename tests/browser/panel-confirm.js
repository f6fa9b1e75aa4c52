// Confirms in the panel what was soldered, as a player does: a block of strums recorded from a file in place of the sound card's input,
// counted while it is played; the other blocks added as files; what they tell is what the command tells of them. `node
// panel-confirm.js FOLDER` starts the program that DRYWIRE names; with DRYWIRE_SCREENSHOTS set it leaves pictures in FOLDER.

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

/** Returns four strums, played by a hand of its own, through a throw, as a recording of 16 bits with silence around them. */
function block(number, mode, forces) {
  const phrase = forces.map((force) => `022100:2*${force}`).join(" ");
  const samples = heardThrough(folder, file, number, phrase, "--tempo", "100", "--pluck-at", `${132 + 3 * number}mm`)[mode];
  const quiet = new Array(RATE).fill(0);
  return recordedAs(join(folder, `${number}-${mode.replace(":", "-")}.wav`), [...quiet, ...samples, ...quiet, ...quiet, ...quiet]);
}

const blocks = [["mode:1", [0.6, 0.7, 0.65, 0.75]], ["mode:3", [0.7, 0.6, 0.7, 0.65]], ["mode:1", [0.65, 0.75, 0.6, 0.7]], ["mode:3", [0.75, 0.65, 0.6, 0.7]]]
  .map(([mode, forces], i) => [mode, block(i + 1, mode, forces)]);

const { context, page, faults, end } = await entered(guitars, "--autoplay-policy=no-user-gesture-required", ...hearing(blocks[0][1]));
await placed(page, "Confirm");
await page.waitForSelector("#run");
const verdict = (words) => verdictIn(page, words);
const trouble = () => page.locator("#sound-trouble").textContent();
const next = (mode) => page.waitForFunction((mode) => document.querySelector(".next strong").textContent === mode && document.getElementById("voice").value === mode, mode);

await verdict("Nothing was recorded so far");
assert.ok((await page.locator(".how-to").textContent()).includes("leave the amplifier off"));
await next("mode:1");

// By keyboard alone: recorded, counted while it is played, ended.
await tabTo(page, "#run");
await page.keyboard.press("Enter");
await page.waitForFunction(() => document.getElementById("stage").textContent.includes("Recording mode:1: play the chord 4 times") || document.getElementById("sound-trouble").textContent);
assert.equal(await trouble(), "");
for (const count of [1, 2, 3, 4]) {
  await page.waitForFunction((count) => Number(document.getElementById("counted").textContent) >= count, count, { timeout: 20000 });
}
await page.waitForFunction(() => document.getElementById("stage").textContent.includes("damp the strings and press Stop"));
// The last one rings out.
await new Promise((rest) => setTimeout(rest, 1500));
assert.equal(await page.locator("#counted").textContent(), "4");
await page.keyboard.press("Enter");
await page.waitForFunction(() => document.getElementById("stage").textContent === "Kept: 4 strums of mode:1." || document.getElementById("sound-trouble").textContent, null, { timeout: 20000 });
assert.equal(await trouble(), "");
await verdict("only `mode:1` was recorded");
await next("mode:3");

// The others are added as files, each in its turn; the voice that comes next is offered.
for (const [i, [mode, path]] of blocks.entries()) {
  if (i === 0) continue;
  await next(mode);
  await page.locator("#file").setInputFiles(path);
  await page.waitForFunction((count) => document.querySelectorAll(".takes li").length === count, i + 1);
}
await verdict("mode:3: consistent");

// What is told is what the command tells of the same recordings.
const files = readdirSync(join(own, "confirmed")).sort();
assert.equal(files.length, 4);
const shown = await page.locator(".takes li").allTextContents();
const record = readFileSync(join(own, "readings/confirm.toml"), "utf8");
const kept = [...record.matchAll(/voice = "(.*)"\nfile = "(.*)"/g)].map(([, voice, name]) => `${voice}=${join(own, "confirmed", name)}`);
assert.equal(kept.length, 4);
shown.forEach((text, i) => assert.ok(text.includes(kept[i].split("=")[0]) && text.includes("4 strums"), text));
const told = spawnSync(process.env.DRYWIRE, ["confirm", "--guitar", file, ...kept, "--json"]);
assert.ok(told.status < 2, told.stderr.toString());
const answer = JSON.parse(told.stdout);
const answered = JSON.parse(readFileSync(join(own, "readings/confirm.json"), "utf8"));
const { date, guitar, ...rest } = answered;
assert.deepEqual(rest, answer);
assert.equal(guitar, "Bench");
assert.match(date, /^20\d\d-\d\d-\d\d$/);
const words = await page.locator(".told-of-it").textContent();
for (const part of answer.takes[1].words.split("; ")) assert.ok(words.includes(part), part);
assert.equal(await page.locator(".verdicts tbody tr").count(), answer.differences[0].bands.length);
await pictured(page);
assert.ok((await page.locator(".command pre").textContent()).includes(`'${kept[3]}'`));
assert.equal(readFileSync(file, "utf8"), BENCH, "nothing of it is in the guitar's file");

await seenAlike({ context, page, faults }, folder, "confirm", "mode:3: consistent");

// Two throws that are exchanged are told: the takes of one are said to be of the other.
writeFileSync(join(own, "readings/confirm.toml"), record.replaceAll('voice = "mode:1"', 'voice = "x"').replaceAll('voice = "mode:3"', 'voice = "mode:1"').replaceAll('voice = "x"', 'voice = "mode:3"'));
await page.reload();
await verdict("mode:1: not consistent");

// What is no recording is refused; a take is taken out; all are laid aside.
await page.locator("#file").setInputFiles({ name: "letter.wav", mimeType: "audio/wav", buffer: Buffer.from("Dear luthier") });
await page.waitForFunction(() => document.getElementById("sound-trouble").textContent.includes("tells nothing"));
// The browser says by itself that this was refused.
assert.deepEqual(faults.splice(0), ["Failed to load resource: the server responded with a status of 422 (Unprocessable Entity)"]);
await page.locator(".takes button").last().click();
await page.waitForFunction(() => document.querySelectorAll(".takes li").length === 3);
await tabTo(page, "#anew");
await page.keyboard.press("Enter");
await verdict("Nothing was recorded so far");
assert.ok(readdirSync(join(own, "readings")).some((name) => /^confirm-20.*\.toml$/.test(name)));
assert.equal(readdirSync(join(own, "confirmed")).length, 4, "recordings stay");

assert.deepEqual(faults, []);
await end();
