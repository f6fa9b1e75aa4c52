// Surveys a guitar in the panel as a person does: asked for, worked out beside the page, sifted, one of it heard; its figures are
// those of the command. `node panel-survey.js FOLDER` starts the program that DRYWIRE names; with DRYWIRE_SCREENSHOTS set it
// leaves pictures in FOLDER.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { entered, looked, placed, tabTo } from "./panel-window.js";

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
const { page, faults, end } = await entered(guitars);
await placed(page, "Survey");

// By keyboard alone: asked for, and there once it is worked out.
await page.waitForSelector("#make");
await tabTo(page, "#make");
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

// They are folded by that of the kept which is nearest, so that a phone's page has no end of them; what is looked for lies open.
assert.equal(await page.locator("details.near").count(), await page.locator("details.near:not([open])").count());
await page.setViewportSize({ width: 390, height: 844 });
const tall = await page.evaluate(() => document.documentElement.scrollHeight);
assert.ok(tall < 844 * 8, `${tall} px`);
await page.setViewportSize({ width: 1400, height: 900 });

// Sifted by words.
await page.locator("#find").fill("out of phase");
await page.keyboard.press("Enter");
await page.waitForFunction((all) => document.querySelectorAll(".circuits tbody tr").length < all, Math.min(circuits, 200));
assert.equal(await page.locator("details.near:not([open])").count(), 0);
for (const title of await page.locator(".circuits tbody th").allTextContents()) assert.ok(title.toLowerCase().includes("out of phase"), title);
await page.locator("#find").fill("");
await page.keyboard.press("Enter");
await page.waitForFunction((all) => document.querySelectorAll(".circuits tbody tr").length === all, Math.min(circuits, 200));

// A changed guitar is said to be another than was surveyed.
writeFileSync(file, readFileSync(file, "utf8").replace('pot = "500k" }\ntone', 'pot = "250k" }\ntone'));
await page.waitForSelector('[data-part="old"]');
assert.ok((await page.locator('[data-part="old"]').textContent()).includes("changed since"));

const url = page.url();
await looked(page, folder, "survey", async () => {
  await page.goto(url);
  await page.waitForSelector("#kept");
});
await page.setViewportSize({ width: 1400, height: 900 });

// By mouse: the last that is kept, heard where it stands in front.
const last = figures.keep.positions.at(-1);
await page.locator(".kept li").last().locator("a.hear").click();
await page.waitForSelector("#player");
assert.equal(await page.locator('input[name="voice"]:checked').getAttribute("value"), last);

assert.deepEqual(faults, []);
await end();
