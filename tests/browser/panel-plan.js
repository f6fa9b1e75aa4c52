// Plans a switch in the panel, once by mouse and once by the keyboard alone, makes a wrong joint by hand and mends it; what goes into
// the guitar's file is byte for byte what the command puts there. `node panel-plan.js FOLDER` starts the program that DRYWIRE names;
// with DRYWIRE_SCREENSHOTS set it leaves pictures in FOLDER.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { entered, looked, tabTo } from "./panel-window.js";

const folder = resolve(process.argv[2]);
const guitars = join(folder, "guitars");
const GUITAR = "# kept as it is\nformat = 1\nname = \"on the bench\"\n\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n\n[pickup.coil_a]\nleads = { plus = \"white\", minus = \"grey\" }\n\n[pickup.coil_b]\nleads = { plus = \"red\", minus = \"blue\" }\n";
for (const name of ["mouse", "keys"]) {
  mkdirSync(join(guitars, name), { recursive: true });
  writeFileSync(join(guitars, name, "guitar.toml"), GUITAR);
}
const { page, faults, at, end } = await entered(guitars);
const told = (words) => page.waitForFunction((wanted) => document.querySelector("#joined")?.textContent.startsWith(wanted), words);
const saved = () => page.waitForFunction(() => document.querySelector("#saved").textContent === "saved");

/** Holds what was put into a guitar's file to what the command puts there. */
async function asTheCommand(name, throws) {
  await saved();
  const copy = join(folder, `${name}.toml`);
  writeFileSync(copy, GUITAR);
  execFileSync(process.env.DRYWIRE, ["lugs", "--switch", "on-on", "--throws", throws, "--save", copy], { stdio: "ignore" });
  assert.equal(readFileSync(join(guitars, name, "guitar.toml"), "utf8"), readFileSync(copy, "utf8"));
}

// By mouse: what a switch cannot do leads to one that can.
await page.goto(at("g/mouse/"));
await page.locator('nav >> text="Plan"').click();
await page.waitForSelector("#put-0");
assert.match(await page.locator("#fewest").textContent(), /^\d joints at least, and .* ways\.$/);
await page.locator("#throw1").selectOption("series");
await page.locator("#kind").selectOption("on-off-on");
await page.waitForFunction(() => document.querySelector("#throw3"));
await page.locator("#throw2").selectOption("parallel");
await page.waitForFunction(() => /^No plan does this/.test(document.querySelector("#fewest").textContent));
await page.locator("#kind").selectOption("on-on");
await page.waitForFunction(() => !document.querySelector("#throw3"));
await page.locator("#throw2").selectOption("split-a");
await page.waitForFunction(() => location.search.includes("throw2=split-a") && document.querySelector("#put-0"));
await page.locator("#put-0").click();
await told("No fault");
await asTheCommand("mouse", "series,split-a");
const before = readFileSync(join(guitars, "mouse/guitar.toml"), "utf8");

// A joint is taken off by hand and put down on a wrong lug: the fault is told at once, and gone with the right one.
const joints = (name) => readFileSync(join(guitars, name, "guitar.toml"), "utf8").match(/^joints = (.*)$/m)[1];
const wires = JSON.parse(joints("mouse"));
const group = wires.find((own) => own.includes("hot"));
const home = group.find((word) => word !== "hot");
await page.locator("#off-hot").click();
await page.waitForFunction(() => !document.querySelector("#off-hot"));
assert.match(await page.locator("#joined").textContent(), /fault/);
await page.locator('input[name="wire"][value="hot"]').check({ force: true });
const wrong = ["L1", "L2", "L3", "R1", "R2", "R3"].find((lug) => !group.includes(lug));
await page.locator(`#lug-${wrong}`).click();
await page.waitForSelector("#off-hot");
assert.notEqual(await page.locator("#joined").textContent().then((words) => words.split(". ")[0]), "No fault");
await page.locator("#undo").click();
await page.waitForFunction(() => !document.querySelector("#off-hot"));
await page.locator('input[name="wire"][value="hot"]').check({ force: true });
await page.locator(`button[name="lug"][value="${home}"]`).click();
await told("No fault");
await page.locator("#undo").click();
await page.locator("#undo").click();
await told("No fault");
await saved();
assert.equal(readFileSync(join(guitars, "mouse/guitar.toml"), "utf8"), before);
// What cannot be soldered is refused in words.
await page.locator("#lug-L1").click();
await page.waitForFunction(() => /no wire is picked up: choose among a\+/.test(document.querySelector("#summary").textContent));

// By the keyboard alone.
await page.goto(at("g/keys/plan/"));
await page.waitForSelector("#put-0");
await tabTo(page, "#put-0");
await page.keyboard.press("Enter");
await told("No fault");
await asTheCommand("keys", "series,parallel");
await tabTo(page, "#off-hot");
await page.keyboard.press("Enter");
await page.waitForFunction(() => !document.querySelector("#off-hot"));
assert.match(await page.locator("#joined").textContent(), /fault/);
await page.locator("#main").focus();
await tabTo(page, 'input[name="wire"]');
for (let i = 0; i < 20 && !await page.locator('input[name="wire"][value="hot"]').isChecked(); i += 1) await page.keyboard.press("ArrowDown");
const lug = JSON.parse(readFileSync(join(folder, "keys.toml"), "utf8").match(/^joints = (.*)$/m)[1]).find((own) => own.includes("hot")).find((word) => /^[LR]\d$/.test(word));
await tabTo(page, `#lug-${lug}`);
await page.keyboard.press("Enter");
await told("No fault");

await looked(page, folder, "plan");
assert.deepEqual(faults, []);
await end();
