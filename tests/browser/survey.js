// Looks at a survey's page at the widths of a desk and of a phone, in either theme. `node survey.js FOLDER` opens
// FOLDER/survey.html and leaves screenshots beside it.

import assert from "node:assert/strict";
import { writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";
import { accessible, fits, namesAreWhole } from "./look.js";

const folder = resolve(process.argv[2]);
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox"],
});
for (const width of [1280, 390]) {
  for (const colorScheme of ["light", "dark"]) {
    const context = await browser.newContext({ viewport: { width, height: 844 }, colorScheme });
    const page = await context.newPage();
    const faults = [];
    page.on("pageerror", (error) => faults.push(error.message));
    await page.goto(pathToFileURL(join(folder, "survey.html")).href);
    await page.locator("#rows summary").first().press("Enter");
    await page.waitForSelector("#rows details[open] li");
    await fits(page, width);
    const kept = await namesAreWhole(page, ".kept-table td:has(wbr)");
    const listed = await namesAreWhole(page, "#rows .parted");
    if (width < 400) assert.ok(kept > 5 && listed > 50, `${kept} and ${listed} names go on in a new line`);
    await accessible(page, `${width}, ${colorScheme}`);
    writeFileSync(join(folder, `survey-${width}-${colorScheme}.png`), await page.screenshot({ fullPage: true }));
    assert.deepEqual(faults, []);
    await context.close();
  }
}
await browser.close();
