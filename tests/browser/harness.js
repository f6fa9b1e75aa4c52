// Looks at the sheets of whole cavities. `node harness.js FOLDER` opens every page of the folder.

import assert from "node:assert/strict";
import { readdirSync } from "node:fs";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { accessible, atEverySize, fits, launched, picture, printsWhole } from "./look.js";

const folder = resolve(process.argv[2]);
const files = readdirSync(folder).filter((file) => file.endsWith(".html"));
assert.ok(files.length > 10, `${files.length} sheets`);

/** Returns what of a picture covers what else, each box as the browser sets it. */
function clashes() {
  const faults = [];
  for (const svg of document.querySelectorAll("svg.cavity")) {
    const box = (node) => { const { x, y, width, height } = node.getBBox(); return [x, y, x + width, y + height]; };
    const meet = (a, b, by = 0) => a[0] < b[2] - by && b[0] < a[2] - by && a[1] < b[3] - by && b[1] < a[3] - by;
    const texts = [...svg.querySelectorAll("text")].filter((text) => !text.closest(".badge"));
    const badges = [...svg.querySelectorAll(".badge circle")];
    const number = (badge) => badge.parentElement.textContent;
    texts.forEach((text, at) => {
      // A line of text is higher than its letters.
      const [left, top, right, bottom] = box(text);
      const own = [left, top + 2, right, bottom - 3];
      for (const badge of badges) if (meet(own, box(badge), 1)) faults.push(`${number(badge)} on ${text.textContent}`);
      for (const other of texts.slice(at + 1)) {
        const [l, t, r, b] = box(other);
        if (meet(own, [l, t + 2, r, b - 3])) faults.push(`${text.textContent} on ${other.textContent}`);
      }
      const lug = text.closest(".lug");
      for (const wire of svg.querySelectorAll(".wire")) {
        const path = wire.querySelector("path");
        const length = path.getTotalLength();
        for (let way = 0; way <= length && !lug; way += 3) {
          const { x, y } = path.getPointAtLength(way);
          if (meet(own, [x - 1, y - 1, x + 1, y + 1])) { faults.push(`${wire.dataset.wire} through ${text.textContent}`); break; }
        }
      }
      if (own[0] < 0 || own[2] > svg.viewBox.baseVal.width) faults.push(`${text.textContent} is cut off`);
      if (lug) {
        const rect = box(lug.querySelector("rect"));
        if (left < rect[0] || right > rect[2]) faults.push(`${text.textContent} is wider than its lug`);
      }
    });
    // No wire reads as soldered to a lug at which it does not end: as they are painted the two do not touch, nor does any solder.
    const ends = [...svg.querySelectorAll(".wire")].map((wire) => {
      const path = wire.querySelector("path");
      return { wire, at: [path.getPointAtLength(0), path.getPointAtLength(path.getTotalLength())] };
    });
    let seen = 0;
    for (const lug of svg.querySelectorAll(".lug")) {
      const [left, top, right, bottom] = box(lug.querySelector("rect"));
      const isOn = ({ x, y }, by) => x > left - by && x < right + by && y > top - by && y < bottom + by;
      const steps = [0, 0.25, 0.5, 0.75, 1];
      const around = steps.flatMap((share) => [
        [left + share * (right - left), top - 2], [left + share * (right - left), bottom + 2],
        [left - 2, top + share * (bottom - top)], [right + 2, top + share * (bottom - top)],
      ]).map(([x, y]) => new DOMPoint(x, y));
      for (const { wire, at } of ends) {
        const painted = [...wire.querySelectorAll("path:not(.halo)")];
        const isOwn = at.some((end) => isOn(end, 3));
        const what = `${wire.dataset.wire} at ${lug.dataset.terminal}`;
        const touches = painted.some((path) => around.some((point) => path.isPointInStroke(point)));
        if (touches && isOwn) seen += 1;
        if (touches && !isOwn) faults.push(what);
        const solder = [...wire.querySelectorAll(".solder, .splice")];
        if (solder.some((dot) => meet(box(dot), [left, top, right, bottom]))) faults.push(`solder of ${what}`);
      }
      for (const badge of badges) if (meet([left, top, right, bottom], box(badge), 1)) faults.push(`${number(badge)} on ${lug.dataset.terminal}`);
    }
    if (seen < ends.length / 2) faults.push(`${seen} of ${ends.length} wires are seen at their own lugs`);
    badges.forEach((badge, at) => {
      for (const other of badges.slice(at + 1)) if (meet(box(badge), box(other), 0.5)) faults.push(`${number(badge)} on ${number(other)}`);
    });
  }
  return faults;
}

const browser = await launched();
const page = await (await browser.newContext()).newPage();
await page.setViewportSize({ width: 1280, height: 844 });
for (const file of files) {
  await page.goto(pathToFileURL(join(folder, file)).href);
  assert.deepEqual(await page.evaluate(clashes), [], file);
  for (const format of ["A4", "Letter"]) {
    const pages = (await page.pdf({ format, preferCSSPageSize: true })).toString("latin1").match(/\/Type\s*\/Page\b/g);
    assert.ok(pages.length <= 2, `${file}: ${pages.length} pages on ${format}`);
  }
  await picture(page, folder, file);
}
await browser.close();

for (const file of ["four-knobs-left.html", "as-it-is.html"]) {
  await atEverySize(join(folder, file), async (sheet, width, when) => {
    await fits(sheet, width);
    await accessible(sheet, when);
    await printsWhole(sheet);
    // Ground is told by its dashes and its thinness, not by a colour.
    const dashes = await sheet.evaluate(() => [...document.querySelectorAll("svg.cavity path.ground")].map((path) => {
      const { strokeDasharray, strokeWidth } = getComputedStyle(path);
      return strokeDasharray !== "none" && parseFloat(strokeWidth) < 2;
    }));
    assert.ok(dashes.length > 3 && dashes.every(Boolean), when);
  });
}
