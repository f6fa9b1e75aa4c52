// Measures a guitar in the panel, with a recording that a simulator made in place of the sound card's input: the level, what is seen
// of a recording while it comes in, from play to saved values by keyboard alone, taken back, a recording that is added, a wrong resistor, readings of other meters. What goes
// into the file is byte for byte what the command puts there. `node panel-measure.js FOLDER` starts the program that DRYWIRE names
// and wants `input.wav` in FOLDER; with DRYWIRE_SCREENSHOTS set it leaves pictures in FOLDER.

import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { copyFileSync, mkdirSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { entered, hearing, looked, opened, pictured, placed, tabTo } from "./panel-window.js";

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

/** Returns the numbers of the table that `selector` finds, row by row, and nothing in a cell that is empty. */
const numbers = (selector) => page.locator(`${selector} tr`).evaluateAll((rows) => rows.map((row) =>
  [...row.children].map(({ textContent: text }) => text === "" ? null : Number(text.replace("−", "-")))));
const coming = () => numbers("#incoming-points");
/** Waits until so many points of a column of what comes in are there. */
const points = (column, count) => page.waitForFunction(([column, count]) =>
  [...document.querySelectorAll(`#incoming-points td:nth-of-type(${column})`)].filter((cell) => cell.textContent).length >= count
    || document.getElementById("sound-trouble").textContent || document.getElementById("run").textContent === "Play and record", [column, count], { timeout: 60000 });
/** Counts from now on how often what comes in is drawn. */
const drawings = () => page.evaluate(() => {
  globalThis.drawn = 0;
  const picture = document.getElementById("incoming-picture");
  new MutationObserver(() => { globalThis.drawn += 1; }).observe(picture, { childList: true });
});
const drawn = () => page.evaluate(() => globalThis.drawn);

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

// By keyboard alone: the level, by the first sweep. What comes in is drawn, seldom where little is to move.
await page.emulateMedia({ reducedMotion: "reduce" });
await page.reload();
assert.equal(await page.locator("#incoming").isVisible(), false);
await drawings();
await tabTo(page, "#check");
await page.keyboard.press("Enter");
await page.waitForFunction(() => document.getElementById("input-level").value > -30 || document.getElementById("sound-trouble").textContent);
assert.equal(await trouble(), "");
await page.waitForFunction(() => /The level is right: −\d dB/.test(document.getElementById("level-words").textContent), null, { timeout: 30000 });
const seldom = await drawn();
assert.ok(seldom >= 2 && seldom <= 7, `${seldom} drawings of twelve seconds`);
assert.equal(await page.locator("#incoming").isVisible(), true);
const looks = (await coming()).length;
assert.ok(looks > 20, `${looks} points of the one sweep`);
assert.match(await page.locator("#incoming-words").textContent(), /^[12] marks? found, of which each sweep has two\. Sweep 1 of 3 has passed .*Hz, where it comes in at −?\d+\.\d dB\.$/);
await page.emulateMedia({ reducedMotion: "no-preference" });

/** Watches what comes in: the first sweep has been seen to pass; the third draws the impedance as it passes, point by point. */
async function watched() {
  await points(1, 71);
  assert.equal((await coming()).length, 71);
  const often = await drawn();
  assert.ok(often >= 6, `${often} drawings`);
  await points(4, 5);
  const early = (await coming()).filter((row) => row[4] !== null).length;
  assert.ok(early >= 5 && early < 60, `${early} points at once`);
  assert.ok(await page.evaluate(() => document.querySelectorAll("#incoming-picture circle").length >= 5), "points are drawn");
  await points(4, early + 5);
  const [words, label] = [await page.locator("#incoming-words").textContent(), await page.locator("#incoming-picture svg").getAttribute("aria-label")];
  assert.ok(/5 marks found, of which each sweep has two\. Sweep 3 of 3 has passed .* The impedance is highest so far at .*Hz: .*Ω\./.test(words), words);
  assert.ok(label.startsWith("What has come in so far. ") && label.includes(" marks found"), label);
}

// From play to values. Where the machine is too busy and loses samples, that is found, and it is recorded again as a person would.
let name;
let isSeen = false;
for (let turn = 1; ; turn += 1) {
  const before = await field("take").inputValue();
  await drawings();
  await tabTo(page, "#run");
  await page.keyboard.press("Enter");
  await page.waitForFunction(() => document.getElementById("stage").textContent.includes("Sweep 1 of 3 is played") || document.getElementById("sound-trouble").textContent, null, { timeout: 20000 });
  assert.equal(await trouble(), "");
  let unlike = null;
  if (!isSeen) {
    await page.waitForFunction(() => document.getElementById("stage").textContent.includes("Connect now, for sweep 2 of 3: the known resistor"), null, { timeout: 30000 });
    assert.equal(await page.locator('.connections [aria-current="step"]').count(), 1);
    assert.equal(await page.locator(".connections li").nth(1).getAttribute("aria-current"), "step");
    if (process.env.DRYWIRE_SCREENSHOTS) await page.screenshot({ path: join(folder, "measure-plays.png"), fullPage: true });
    unlike = await watched().then(() => null, (error) => error);
  }
  await page.waitForFunction(() => document.getElementById("level-words").textContent.includes("recording is kept") || document.getElementById("sound-trouble").textContent, null, { timeout: 90000 });
  assert.equal(await trouble(), "");
  await page.waitForFunction((was) => document.querySelector('[data-place="take"]:not(button)').value !== was
    && document.querySelector(".verdict").textContent.match(/Measured|No values/), before, { timeout: 60000 });
  name = await field("take").inputValue();
  const said = await page.locator(".verdict").textContent();
  if (said.includes("Measured") && unlike) throw unlike;
  isSeen ||= unlike === null;
  if (said.includes("Measured")) break;
  console.log(`turn ${turn}: ${said}: ${await page.locator(".verdicts").textContent()}`);
  assert.ok(/slipped|two clocks|too quiet/.test(said) && turn < 4, said);
}
assert.match(name, /^\d{4}-\d\d-\d\d-bridge(-\d)?\.wav$/);
const take = join(own, "measured", name);
const wanted = command(take, "--known", "10k 1%", "--ohms", "6.03k");
const [coil] = wanted.json.coils;
console.log(`L at 1 kHz ${coil.inductance_1khz_h} H, C ${coil.capacitance_f} F, misfit ${wanted.json.misfit_db.rms} dB`);
assert.ok(Math.abs(coil.inductance_1khz_h / 2.5 - 1) < 0.015, "the coil that the simulator had");
await verdict("healthy");
assert.ok((await page.locator(".told-of-it").textContent()).includes(`± ${(100 * coil.inductance_h_sd / coil.inductance_h).toFixed(1)} %`));
await pictured(page);
assert.equal(text(), GUITAR, "nothing is in the file before it is asked for");

// What was seen while it came in has made room for the program's own picture, and lies near it.
await page.waitForFunction(() => document.getElementById("incoming").hidden);
const [preview, told] = [(await coming()).filter((row) => row[4] !== null), await numbers("#points tbody")];
assert.deepEqual(preview.map(([hz]) => hz), told.map(([hz]) => hz));
const off = preview.map((row, i) => 20 * Math.log10(row[4] / told[i][1]));
const rms = Math.sqrt(off.reduce((sum, db) => sum + db * db, 0) / off.length);
const most = Math.max(...off.map(Math.abs));
console.log(`the preview is off by ${rms.toFixed(3)} dB rms, ${most.toFixed(2)} dB at most, over ${off.length} points`);
assert.ok(rms < 0.3 && most < 1, "the preview lies near what was measured");
await page.evaluate(() => { document.getElementById("incoming").hidden = false; });
await page.locator(".incoming summary").click();
await looked(page, folder, "incoming");
await page.setViewportSize({ width: 1400, height: 900 });
// What was said of the recording goes with it.
await field("take").selectOption("");
await page.waitForFunction(() => document.getElementById("level-words").textContent.startsWith("Checking plays the first sweep"));
await field("take").selectOption(name);
await verdict("healthy");
// Every value explains itself where it stands.
const values = page.locator('[aria-label="Values"] table');
for (const term of ["sd", "inductance", "capacitance", "loss"]) {
  const button = values.locator(`.term:text-is("${term}")`).first();
  await button.click();
  const note = page.locator(`#${await button.getAttribute("popovertarget")}`);
  assert.ok(await note.isVisible() && (await note.textContent()).startsWith(term), term);
  await page.keyboard.press("Escape");
}
await looked(page, folder, "measured", async () => {
  await page.reload();
  await page.waitForSelector("#put");
  await pictured(page);
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
// It is said where it was added, and goes with what is done next.
await page.waitForFunction(() => document.querySelector("#recorded #file-trouble:not([hidden])")?.textContent.includes("tells nothing"));
assert.equal(await page.locator("#sound-trouble").isVisible(), false);
// The browser says by itself that this was refused.
assert.deepEqual(faults.splice(0), ["Failed to load resource: the server responded with a status of 422 (Unprocessable Entity)"]);

// What is told is kept, in the guitar's folder and for another window.
const second = await opened(context, page.url(), faults);
await second.waitForFunction(() => document.querySelector(".verdict").textContent.includes("Measured"));
assert.equal(await second.locator('[data-place="ohms"]').inputValue(), "6.03k");
await second.close();
assert.equal(readdirSync(join(own, "measured")).length >= 2, true);

// Of one coil by itself nothing is said of knobs.
await field("ohms").fill("6.04k");
await field("ohms").blur();
await page.waitForFunction(() => document.getElementById("file-trouble").hidden);
assert.match(await page.locator("#fv-at").textContent(), /Every knob stands at 10/);
await field("at").selectOption("a");
await page.waitForFunction(() => document.getElementById("fv-at").textContent.includes("nothing else is on them"));
assert.doesNotMatch(await page.locator("#what").textContent(), /knob/);
await field("at").selectOption("");
await field("ohms").fill("6.03k");
await verdict("Measured");

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
