// Surveys a guitar in the panel as a person does: asked for, worked out beside the page, sifted, one of it heard; its figures are
// those of the command. `node panel-survey.js FOLDER` starts the program that DRYWIRE names; with DRYWIRE_SCREENSHOTS set it
// leaves pictures in FOLDER.

import assert from "node:assert/strict";
import { execFileSync, spawn } from "node:child_process";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { accessible, fits, launched, picture } from "./look.js";

const folder = resolve(process.argv[2]);
const guitars = join(folder, "guitars");
const own = join(guitars, "many");
const file = join(own, "guitar.toml");
mkdirSync(own, { recursive: true });
writeFileSync(file, `format = 1
name = "Many ways"
[[pickup]]
name = "bridge"
like = "vintage-full-size"
from_bridge = "40 mm"
[[pickup]]
name = "neck"
like = "vintage-full-size"
from_bridge = "150 mm"
[[selector]]
name = "selector"
table = "three-way-toggle"
joints = [["bridge", "1"], ["neck", "2"], ["out", "0"]]
[controls]
volume = { pot = "500k" }
tone = { pot = "500k", capacitor = "22n" }
`);
const panel = spawn(process.env.DRYWIRE, ["panel", guitars, "--no-open"], { stdio: ["ignore", "pipe", "inherit"] });
process.on("exit", () => panel.kill());
const address = await new Promise((told) => panel.stdout.once("data", (line) => told(line.toString().trim())));
const browser = await launched();
const context = await browser.newContext({ viewport: { width: 1400, height: 900 } });
const page = await context.newPage();
const faults = [];
page.on("pageerror", (error) => faults.push(error.message));
page.on("console", (message) => faults.push(message.text()));
await page.goto(address);
await page.locator(".guitar .open").click();
await page.waitForSelector("#undo");
await page.locator('nav >> text="Survey"').click();

// By keyboard alone: asked for, and there once it is worked out.
const focused = () => page.evaluate(() => document.activeElement.id);
async function tabTo(wanted) {
  for (let presses = 0; presses < 60; presses += 1) {
    if ((await focused()) === wanted) return;
    await page.keyboard.press("Tab");
  }
  throw new Error(`the tab key does not reach ${wanted}`);
}
await page.waitForSelector("#make");
await tabTo("make");
await page.keyboard.press("Enter");
await page.waitForSelector("#kept", { timeout: 180000 });

// What is told is what the command finds.
const out = join(folder, "by-command");
execFileSync(process.env.DRYWIRE, ["survey", "--guitar", file, "--out", out], { stdio: "ignore" });
const figures = JSON.parse(readFileSync(join(out, "survey.json"), "utf8"));
assert.deepEqual(JSON.parse(readFileSync(join(own, "surveys/all/survey.json"), "utf8")), figures);
assert.deepEqual(await page.locator(".kept li .key").allTextContents(), figures.keep.positions);
const circuits = figures.circuits.length;
assert.equal(await page.locator(".circuits tbody tr").count(), Math.min(circuits, 200));

// Sifted by words.
await page.locator("#find").fill("out of phase");
await page.keyboard.press("Enter");
await page.waitForFunction((all) => document.querySelectorAll(".circuits tbody tr").length < all, Math.min(circuits, 200));
for (const title of await page.locator(".circuits tbody th").allTextContents()) assert.ok(title.toLowerCase().includes("out of phase"), title);
await page.locator("#find").fill("");
await page.keyboard.press("Enter");
await page.waitForFunction((all) => document.querySelectorAll(".circuits tbody tr").length === all, Math.min(circuits, 200));

// A changed guitar is said to be another than was surveyed.
writeFileSync(file, readFileSync(file, "utf8").replace('pot = "500k" }\ntone', 'pot = "250k" }\ntone'));
await page.waitForSelector('[data-part="old"]');
assert.ok((await page.locator('[data-part="old"]').textContent()).includes("changed since"));

const at = page.url();
for (const width of [1400, 390, 320]) {
  for (const colorScheme of ["light", "dark"]) {
    await page.setViewportSize({ width, height: 900 });
    await page.emulateMedia({ colorScheme });
    await page.goto(at);
    await page.waitForSelector("#kept");
    await fits(page, width);
    await accessible(page, `survey ${width} ${colorScheme}`);
    await picture(page, folder, `panel-survey-${width}-${colorScheme}`);
  }
}
await page.setViewportSize({ width: 1400, height: 900 });

// By mouse: the last that is kept, heard where it stands in front.
const last = figures.keep.positions.at(-1);
await page.locator(".kept li").last().locator("a.hear").click();
await page.waitForSelector("#player");
assert.equal(await page.locator('input[name="voice"]:checked').getAttribute("value"), last);

assert.deepEqual(faults, []);
panel.kill("SIGTERM");
await browser.close();
