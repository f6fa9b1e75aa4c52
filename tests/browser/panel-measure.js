// Measures a guitar in the panel, with a recording that a simulator made in place of the sound card's input: the level, from play
// to saved values by keyboard alone, taken back, a recording that is added, a wrong resistor, readings of other meters. What goes
// into the file is byte for byte what the command puts there. `node panel-measure.js FOLDER` starts the program that DRYWIRE names
// and wants `input.wav` in FOLDER; with DRYWIRE_SCREENSHOTS set it leaves pictures in FOLDER.

import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { copyFileSync, mkdirSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { entered, hearing, looked, opened, placed, tabTo } from "./panel-window.js";

const folder = resolve(process.argv[2]);
const input = join(folder, "input.wav");
const guitars = join(folder, "guitars");
const own = join(guitars, "bench");
const file = join(own, "guitar.toml");
const GUITAR = `format = 1 # mine
name = "Bench"
[[pickup]]
name = "bridge"
like = "single-coil" # as bought
[controls]
volume = { pot = "500k" }
[cable]
total = "360p"
`;
mkdirSync(own, { recursive: true });
writeFileSync(file, GUITAR);
const text = () => readFileSync(file, "utf8");

/** Returns what the command answers, and the file that it saves, of a copy of the guitar. */
function command(...line) {
  const copy = join(folder, "copy.toml");
  writeFileSync(copy, GUITAR);
  const told = spawnSync(process.env.DRYWIRE, ["measure", ...line, "--guitar", copy, "--save", "--json"]);
  assert.ok(told.status < 2, told.stderr.toString());
  return { json: JSON.parse(told.stdout), saved: readFileSync(copy, "utf8") };
}

const { context, page, faults, end } = await entered(guitars, "--autoplay-policy=no-user-gesture-required", ...hearing(input));
await placed(page, "Measure");
await page.waitForSelector("#run");

const field = (place) => page.locator(`[data-place="${place}"]:not(button)`);
const verdict = (words, timeout = 60000) => page.waitForFunction((words) => document.querySelector(".verdict")?.textContent.includes(words), words, { timeout });
const saved = async (wanted) => {
  await page.waitForFunction(() => document.getElementById("saved").textContent === "saved");
  assert.equal(text(), wanted);
};
const trouble = () => page.locator("#sound-trouble").textContent();

// The cautions stand first, and the three connections are told and drawn.
const how = await page.locator(".how-to").textContent();
assert.ok(how.includes("Unplug the guitar from the amplifier") && how.includes("headphones"), how);
assert.equal(await page.locator(".connections svg").count(), 3);
for (const [i, words] of ["nothing across", "known resistor", "the guitar there"].entries()) {
  assert.ok((await page.locator(".connections li").nth(i).textContent()).includes(words));
  assert.ok((await page.locator(".connections svg").nth(i).getAttribute("aria-label")).includes(words));
}
await verdict("Nothing was measured so far");

// What the meter reads: a number that may be ohms or kilohms is asked about.
await field("ohms").fill("6,03");
await page.locator('button[data-place="ohms"]').last().click();
await page.waitForFunction(() => document.querySelector(".command pre").textContent.includes("--ohms '6.03k'"));
await field("known").fill("ten");
await page.waitForSelector('#fv-known .fault');
await field("known").fill("10k 1%");
await page.waitForSelector('#fv-known .fault', { state: "detached" });

await looked(page, folder, "measure", async () => {
  await page.reload();
  await page.waitForSelector("#run");
});
await page.setViewportSize({ width: 1400, height: 900 });

// By keyboard alone: the level, by the first sweep.
await page.reload();
await tabTo(page, "#check");
await page.keyboard.press("Enter");
await page.waitForFunction(() => document.getElementById("input-level").value > -30 || document.getElementById("sound-trouble").textContent);
assert.equal(await trouble(), "");
await page.waitForFunction(() => /The level is right: −\d dB/.test(document.getElementById("level-words").textContent), null, { timeout: 30000 });

// From play to values. Where the machine is too busy and loses samples, that is found, and it is recorded again as a person would.
let name;
for (let turn = 1; ; turn += 1) {
  const before = await field("take").inputValue();
  await tabTo(page, "#run");
  await page.keyboard.press("Enter");
  await page.waitForFunction(() => document.getElementById("stage").textContent.includes("Sweep 1 of 3 is played") || document.getElementById("sound-trouble").textContent, null, { timeout: 20000 });
  assert.equal(await trouble(), "");
  if (turn === 1) {
    await page.waitForFunction(() => document.getElementById("stage").textContent.includes("Connect now, for sweep 2 of 3: the known resistor"), null, { timeout: 30000 });
    assert.equal(await page.locator('.connections [aria-current="step"]').count(), 1);
    assert.equal(await page.locator(".connections li").nth(1).getAttribute("aria-current"), "step");
    if (process.env.DRYWIRE_SCREENSHOTS) await page.screenshot({ path: join(folder, "measure-plays.png"), fullPage: true });
  }
  await page.waitForFunction(() => document.getElementById("level-words").textContent.includes("recording is kept") || document.getElementById("sound-trouble").textContent, null, { timeout: 90000 });
  assert.equal(await trouble(), "");
  await page.waitForFunction((was) => document.querySelector('[data-place="take"]:not(button)').value !== was
    && document.querySelector(".verdict").textContent.match(/Measured|No values/), before, { timeout: 60000 });
  name = await field("take").inputValue();
  const said = await page.locator(".verdict").textContent();
  if (said.includes("Measured")) break;
  console.log(`turn ${turn}: ${said}: ${await page.locator(".verdicts").textContent()}`);
  assert.ok(/slipped|two clocks/.test(said) && turn < 4, said);
}
assert.match(name, /^\d{4}-\d\d-\d\d-bridge(-\d)?\.wav$/);
const take = join(own, "measured", name);
const wanted = command(take, "--known", "10k 1%", "--ohms", "6.03k");
const [coil] = wanted.json.coils;
console.log(`L at 1 kHz ${coil.inductance_1khz_h} H, C ${coil.capacitance_f} F, misfit ${wanted.json.misfit_db.rms} dB`);
assert.ok(Math.abs(coil.inductance_1khz_h / 2.5 - 1) < 0.015, "the coil that the simulator had");
await verdict("healthy");
assert.ok((await page.locator(".told-of-it").textContent()).includes(`± ${(100 * coil.inductance_h_sd / coil.inductance_h).toFixed(1)} %`));
assert.ok(await page.evaluate(async () => {
  const image = document.querySelector(".fit img");
  await image.decode();
  return image.naturalWidth > 0;
}), "the picture is there");
assert.equal(text(), GUITAR, "nothing is in the file before it is asked for");
await looked(page, folder, "measured", async () => {
  await page.reload();
  await page.waitForSelector("#put");
  await page.evaluate(() => document.querySelector(".fit img").decode());
});
await page.setViewportSize({ width: 1400, height: 900 });

// One press takes the values, byte for byte as the command; undo takes them out again.
await tabTo(page, "#put");
await page.keyboard.press("Enter");
await verdict("The values are in the guitar’s file");
await saved(wanted.saved);
await page.locator('nav >> text="Guitar"').click();
await page.waitForFunction(() => document.querySelector("main").textContent.includes("measured, ± "));
await page.goBack();
await page.waitForSelector("#put");
await page.locator("#undo").click();
await page.waitForFunction(() => !document.getElementById("put")?.disabled);
await saved(GUITAR);

// A recording that is added, and with it a resistor that is not what it is said to be.
copyFileSync(input, join(folder, "by another program.wav"));
await page.locator("#file").setInputFiles(join(folder, "by another program.wav"));
await page.waitForFunction(() => document.querySelector('[data-place="take"]').value.endsWith("by-another-program.wav"));
await verdict("Measured");
await field("known").fill("12k 1%");
await verdict("No values: wrong resistor");
assert.ok((await page.locator(".verdicts").textContent()).includes("read the known resistor"));
await page.waitForFunction(() => document.getElementById("said").textContent.includes("wrong resistor"));
await field("known").fill("10k 1%");
await verdict("Measured");
await page.locator("#file").setInputFiles({ name: "letter.wav", mimeType: "audio/wav", buffer: Buffer.from("Dear luthier") });
await page.waitForFunction(() => document.getElementById("sound-trouble").textContent.includes("tells nothing"));
// The browser says by itself that this was refused.
assert.deepEqual(faults.splice(0), ["Failed to load resource: the server responded with a status of 422 (Unprocessable Entity)"]);

// What is told is kept, in the guitar's folder and for another window.
const second = await opened(context, page.url(), faults);
await second.waitForFunction(() => document.querySelector(".verdict").textContent.includes("Measured"));
assert.equal(await second.locator('[data-place="ohms"]').inputValue(), "6.03k");
await second.close();
assert.equal(readdirSync(join(own, "measured")).length >= 2, true);

// Readings of other meters, in the same file.
await field("from").selectOption("readings");
await page.waitForSelector('[data-place="lcr"]');
await field("lcr").fill("2.2H@1kHz");
await verdict("Measured");
await field("ohms").fill("");
await page.waitForFunction(() => !document.querySelector(".command pre").textContent.includes("--ohms"));
await verdict("Measured");
assert.equal(await page.locator(".fit").count(), 0);
await page.locator("#put").click();
await verdict("The values are in the guitar’s file");
await saved(command("--lcr", "2.2H@1kHz").saved);
assert.ok((await page.locator(".command pre").textContent()).startsWith("drywire measure --lcr '2.2H@1kHz' --guitar"));

assert.deepEqual(faults, []);
await end();
