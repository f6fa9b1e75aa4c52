// Surveys a guitar in the panel as a person does: asked for, worked out beside the page, sifted, one of it heard; its figures are
// those of the command. `node panel-survey.js FOLDER` starts the program that DRYWIRE names; with DRYWIRE_SCREENSHOTS set it
// leaves pictures in FOLDER.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { entered, looked, tabTo } from "./panel-window.js";
import { KNOBS, SWITCHED } from "./played.js";

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
${KNOBS}`);
mkdirSync(join(guitars, "switched"), { recursive: true });
writeFileSync(join(guitars, "switched/guitar.toml"), `format = 1
name = "With a switch"
${SWITCHED}`);
const { page, faults, at, end } = await entered(guitars);

// With a switch in the guitar one says what is surveyed: every way, or what the switch does.
await page.goto(at("g/switched/survey/"));
await page.waitForSelector("#ways");
assert.match(await page.locator(".about").textContent(), /Levels are taken out first: tone alone is compared/);
const names = () => page.locator(".circuits .key").allTextContents();
await page.locator("#make").click();
await page.waitForSelector("#kept", { timeout: 180000 });
const every = await names();
assert.ok(["series", "parallel", "split-a", "series-reversed"].every((name) => every.includes(name)), every.join());
// Series is not dropped for two that are out of phase: these stand apart, and it is said what it is near.
assert.match(await page.locator("#as-it-is").textContent(), /^Levels are against both coils in series \(series\), which is not to be given up/);
const outOfPhase = page.locator('h3:has-text("Out of phase, kept apart") ~ ol.kept');
for (const name of await outOfPhase.locator(".key").allTextContents()) assert.match(name, /-reversed$/);
for (const name of await page.locator("ol.kept").first().locator(".key").allTextContents()) assert.doesNotMatch(name, /-reversed$/);
assert.ok(await outOfPhase.locator("li").count() > 0);
await page.locator("#ways").selectOption("switched");
await page.waitForFunction(() => !document.querySelector("#kept"));
await page.locator("#make").click();
await page.waitForSelector("#kept", { timeout: 180000 });
assert.deepEqual((await names()).sort(), ["mode:1", "mode:3"]);
assert.match(await page.locator("#kept .verdict").textContent(), /of tone: once all are equally loud/);
await page.locator("#ways").selectOption("every");
await page.waitForFunction(() => document.querySelectorAll(".circuits .key").length > 2);
// What is said of it is what Hear says.
const said = await page.locator('.circuits tr:has(.key:text-is("parallel")) td').first().textContent();
await page.goto(at("g/switched/hear/?heard=bridge&voice=mode:3"));
await page.waitForFunction(() => document.querySelector('[data-plain="mode:3"]')?.textContent !== "");
assert.equal(await page.locator('[data-plain="mode:3"]').textContent(), said);

await page.goto(at(""));
await page.locator('.guitar .open:has-text("Many ways")').click();
await page.waitForSelector("#undo");
await page.locator('nav >> text="Survey"').click();

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
