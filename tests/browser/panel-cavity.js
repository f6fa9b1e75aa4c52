// Wires a control cavity in the panel, once by mouse and once by the keyboard alone: the plan taken over, a wire taken off and a wrong one
// added, what is wrong told, and mended by what is offered. `node panel-cavity.js FOLDER` starts the program that DRYWIRE names; with
// DRYWIRE_SCREENSHOTS set it leaves pictures in FOLDER.

import assert from "node:assert/strict";
import { execFileSync, spawn } from "node:child_process";
import { mkdirSync, readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { accessible, fits, launched, picture } from "./look.js";

const folder = resolve(process.argv[2]);
const guitars = join(folder, "guitars");
const file = (name) => join(guitars, name, "guitar.toml");
for (const name of ["mouse", "keys"]) {
  mkdirSync(join(guitars, name), { recursive: true });
  execFileSync(process.env.DRYWIRE, ["presets", "copy", "set-neck", file(name)], { stdio: "ignore" });
}
const before = readFileSync(file("mouse"), "utf8");
const panel = spawn(process.env.DRYWIRE, ["panel", guitars, "--no-open"], { stdio: ["ignore", "pipe", "inherit"] });
process.on("exit", () => panel.kill());
const address = await new Promise((told) => panel.stdout.once("data", (line) => told(line.toString().trim())));
const browser = await launched();
const page = await browser.newPage({ viewport: { width: 1400, height: 900 } });
const faults = [];
page.on("pageerror", (error) => faults.push(error.message));
page.on("console", (message) => faults.push(message.text()));
await page.goto(address);
await page.waitForSelector("main h1");
const base = await page.evaluate(() => document.body.dataset.base);
const told = (words) => page.waitForFunction((wanted) => document.querySelector("#joined")?.textContent.startsWith(wanted), words);
const wires = () => page.locator("#wires > li").count();
const saved = () => page.waitForFunction(() => document.querySelector("#saved").textContent === "saved");
const command = (...more) => JSON.parse(execFileSync(process.env.DRYWIRE, ["harness", ...more, "--json"], { stdio: ["ignore", "pipe", "ignore"] }));

// By mouse: the plan is the command's, and so is the verdict.
await page.goto(new URL(`${base}g/mouse/`, address).href);
await page.locator('nav >> text="Cavity"').click();
await page.locator("#take-plan").click();
await told("as wanted");
await saved();
const planned = command("--guitar", file("mouse")).wires;
assert.equal(await wires(), planned.length);
assert.deepEqual(await page.locator("#wires > li span:not(.unseen)").allTextContents(), planned.map(([one, other]) => `${one} to ${other} `));
assert.equal(command("--check", file("mouse")).verdict, "as wanted");
assert.ok(readFileSync(file("mouse"), "utf8").startsWith(before.trimEnd()), "the rest of the file stays");
await picture(page, folder, "cavity-as-wanted");

// A wire is taken off, and the fault has a name; what is offered mends it.
const tip = planned.findIndex((ends) => ends.includes("jack.tip"));
await page.locator(`#take-off-${tip}`).click();
await told("not as wanted");
await saved();
let checked;
try {
  command("--check", file("mouse"));
} catch (error) {
  checked = JSON.parse(error.stdout);
}
assert.deepEqual(await page.locator("ul.faulty > li").allTextContents(), checked.faults.map((fault) => fault.words));
await picture(page, folder, "cavity-faulty");
await page.locator("#mend-0").click();
await told("as wanted");
// What is no wire is refused, and nothing is saved of it.
await page.locator("form#add-wire button").click();
await page.waitForFunction(() => /not chosen/.test(document.querySelector("#summary").textContent));
for (const end of ["one", "other"]) await page.locator(`#wire-${end}`).selectOption("jack.tip");
await page.locator("form#add-wire button").click();
await page.waitForFunction(() => /to itself/.test(document.querySelector("#summary").textContent));
assert.equal(await wires(), planned.length);
// A wire too many, from hot to ground.
await page.locator("#wire-one").selectOption("jack.tip");
await page.locator("#wire-other").selectOption("jack.sleeve");
await page.locator('form#add-wire button').click();
await told("not as wanted");
assert.equal(await wires(), planned.length + 1);
await page.locator("#undo").click();
await told("as wanted");

// By the keyboard alone.
await page.goto(new URL(`${base}g/keys/cavity/`, address).href);
/** Goes on to the element that `selector` finds by the tabulator key. */
async function reach(selector) {
  for (let tabs = 0; tabs < 120; tabs += 1) {
    if (await page.evaluate((wanted) => document.activeElement?.matches(wanted), selector)) return;
    await page.keyboard.press("Tab");
  }
  throw new Error(`${selector} is not to be reached`);
}
await reach("#take-plan");
await page.keyboard.press("Enter");
await told("as wanted");
await page.locator("#main").focus();
await reach(`#take-off-${tip}`);
await page.keyboard.press("Enter");
await told("not as wanted");
await page.locator("#main").focus();
await reach("#wire-one");
await page.keyboard.type("jack.sleeve");
await reach("#wire-other");
await page.keyboard.type("jack.tip");
await reach("form#add-wire button");
await page.keyboard.press("Enter");
await page.waitForFunction((count) => document.querySelectorAll("#wires > li").length === count, planned.length);
await page.locator("#main").focus();
await reach("#mend-0");
await page.keyboard.press("Enter");
await page.waitForFunction(() => !/^not as wanted: [2-9]/.test(document.querySelector("#joined").textContent));

for (const [width, height] of [[1400, 900], [390, 844], [320, 640]]) {
  for (const scheme of ["light", "dark"]) {
    await page.setViewportSize({ width, height });
    await page.emulateMedia({ colorScheme: scheme });
    await fits(page, width);
    await accessible(page, `${width} ${scheme}`);
    await picture(page, folder, `cavity-${width}-${scheme}`);
  }
}
assert.deepEqual(faults, []);
await browser.close();
panel.kill();
