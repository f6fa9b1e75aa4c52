// Looks at surveys' pages at a desk, on phones and on paper. `node survey.js FOLDER` opens FOLDER/survey.html and, with long
// names and a guitar's that is written from right to left, FOLDER/long/survey.html, and with DRYWIRE_SCREENSHOTS set
// leaves pictures beside them.

import assert from "node:assert/strict";
import { join, resolve } from "node:path";
import { accessible, atEverySize, fits, namesAreWhole, namesKeepToThemselves, picture, printsWhole } from "./look.js";

const folder = resolve(process.argv[2]);
for (const inside of [".", "long"]) {
  const file = join(folder, inside, "survey.html");
  await atEverySize(file, async (page, width, when) => {
    await page.locator("#rows summary").first().press("Enter");
    await page.waitForSelector("#rows details[open] li");
    await fits(page, width);
    const kept = await namesAreWhole(page, "#kept .parted");
    const listed = await namesAreWhole(page, "#rows .parted");
    if (width < 400) assert.ok(kept > 2 && listed > 50, `${kept} and ${listed} names go on in a new line`);
    assert.ok(await namesKeepToThemselves(page) > 50);
    await accessible(page, when);
    await picture(page, join(folder, inside), `survey-${when}`);
    // Those that are out of phase stand below a heading of their own.
    assert.deepEqual(await page.locator("#kept .group").allTextContents(), ["In phase", "Out of phase"]);
    await printsWhole(page);
    // Paper shows all that were found, not the first hundred.
    const found = Number((await page.locator("#shown").textContent()).split(" ")[0]);
    await page.evaluate(() => dispatchEvent(new Event("beforeprint")));
    assert.equal(await page.locator("#rows > tr:not(.group)").count(), found);
    await page.evaluate(() => dispatchEvent(new Event("afterprint")));
    assert.equal(await page.locator("#rows > tr:not(.group)").count(), Math.min(found, 100));
  });
}
