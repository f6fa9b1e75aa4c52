// Looks at a survey's page at a desk, on phones and on paper. `node survey.js FOLDER` opens
// FOLDER/survey.html and leaves screenshots beside it.

import assert from "node:assert/strict";
import { writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { accessible, atEverySize, fits, namesAreWhole } from "./look.js";

const folder = resolve(process.argv[2]);
await atEverySize(join(folder, "survey.html"), async (page, width, when) => {
  await page.locator("#rows summary").first().press("Enter");
  await page.waitForSelector("#rows details[open] li");
  await fits(page, width);
  const kept = await namesAreWhole(page, ".kept-table td:has(wbr)");
  const listed = await namesAreWhole(page, "#rows .parted");
  if (width < 400) assert.ok(kept > 5 && listed > 50, `${kept} and ${listed} names go on in a new line`);
  await accessible(page, when);
  writeFileSync(join(folder, `survey-${when}.png`), await page.screenshot({ fullPage: true }));
});
