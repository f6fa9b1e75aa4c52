// Looks at wiring sheets at a desk, on phones and on paper. `node sheet.js FOLDER` opens FOLDER/sheet.html and, with long names
// and such as are written from right to left, FOLDER/long.html.

import assert from "node:assert/strict";
import { join, resolve } from "node:path";
import { accessible, atEverySize, fits, namesKeepToThemselves, printsWhole } from "./look.js";

/** Returns the words of drawings, which the accessibility checker does not look at, each with its contrast by WCAG 2.2. */
function contrasts() {
  const parsed = (colour) => colour.match(/[\d.]+/g).map(Number);
  const light = (c) => (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4);
  const luminance = (rgb) => 0.05 + [0.2126, 0.7152, 0.0722].reduce((sum, share, i) => sum + share * light(rgb[i]), 0);
  const ground = (node) => {
    const own = node.parentElement.querySelector(":scope > rect");
    if (own && own.closest(".lug")) return parsed(getComputedStyle(own).fill);
    for (let at = node; at; at = at.parentElement) {
      const colour = parsed(getComputedStyle(at).backgroundColor);
      if (colour[3] !== 0) return colour;
    }
    return [255, 255, 255];
  };
  return [...document.querySelectorAll("svg text")].map((text) => {
    let opacity = 1;
    for (let at = text; at; at = at.parentElement) opacity *= Number(getComputedStyle(at).opacity);
    const [fill, behind] = [parsed(getComputedStyle(text).fill), ground(text)];
    const seen = fill.slice(0, 3).map((c, i) => opacity * c + (1 - opacity) * behind[i]);
    const [a, b] = [luminance(seen), luminance(behind)];
    return [text.textContent, Math.max(a, b) / Math.min(a, b)];
  });
}

for (const file of ["sheet", "long"]) {
  await atEverySize(join(resolve(process.argv[2]), `${file}.html`), async (page, width, when) => {
    await fits(page, width);
    await accessible(page, when);
    const words = await page.evaluate(contrasts);
    assert.ok(words.length > 10, `${words.length} words`);
    assert.deepEqual(words.filter(([, ratio]) => ratio < 4.5), [], when);
    const names = await namesKeepToThemselves(page);
    assert.ok(names >= (file === "long" ? 3 : 1), `${names} names`);
    await printsWhole(page);
    for (const format of ["A4", "Letter"]) {
      const pages = (await page.pdf({ format, preferCSSPageSize: true })).toString("latin1").match(/\/Type\s*\/Page\b/g);
      assert.equal(pages.length, 1, `${file} on ${format}`);
    }
  });
}
