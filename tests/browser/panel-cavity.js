// Wires a control cavity in the panel, once by mouse and once by the keyboard alone: the plan taken over, a wire taken off and a wrong one
// added, what is wrong told, and mended by what is offered. `node panel-cavity.js FOLDER` starts the program that DRYWIRE names; with
// DRYWIRE_SCREENSHOTS set it leaves pictures in FOLDER.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdirSync, readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { picture } from "./look.js";
import { entered, looked, tabTo } from "./panel-window.js";

const folder = resolve(process.argv[2]);
const guitars = join(folder, "guitars");
const file = (name) => join(guitars, name, "guitar.toml");
for (const name of ["mouse", "keys"]) {
  mkdirSync(join(guitars, name), { recursive: true });
  execFileSync(process.env.DRYWIRE, ["presets", "copy", "set-neck", file(name)], { stdio: "ignore" });
}
const before = readFileSync(file("mouse"), "utf8");
const { page, faults, at, end } = await entered(guitars);
const told = (words) => page.waitForFunction((wanted) => document.querySelector("#joined")?.textContent.startsWith(wanted), words);
const wires = () => page.locator("#wires > li").count();
const saved = () => page.waitForFunction(() => document.querySelector("#saved").textContent === "saved");
const command = (...more) => JSON.parse(execFileSync(process.env.DRYWIRE, ["harness", ...more, "--json"], { stdio: ["ignore", "pipe", "ignore"] }));

// By mouse: the plan is the command's, and so is the verdict.
await page.goto(at("g/mouse/"));
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
await page.goto(at("g/keys/cavity/"));
await tabTo(page, "#take-plan");
await page.keyboard.press("Enter");
await told("as wanted");
await page.locator("#main").focus();
await tabTo(page, `#take-off-${tip}`);
await page.keyboard.press("Enter");
await told("not as wanted");
await page.locator("#main").focus();
await tabTo(page, "#wire-one");
await page.keyboard.type("jack.sleeve");
await tabTo(page, "#wire-other");
await page.keyboard.type("jack.tip");
await tabTo(page, "form#add-wire button");
await page.keyboard.press("Enter");
await page.waitForFunction((count) => document.querySelectorAll("#wires > li").length === count, planned.length);
await page.locator("#main").focus();
await tabTo(page, "#mend-0");
await page.keyboard.press("Enter");
await page.waitForFunction(() => !/^not as wanted: [2-9]/.test(document.querySelector("#joined").textContent));

await looked(page, folder, "cavity");
assert.deepEqual(faults, []);
await end();
