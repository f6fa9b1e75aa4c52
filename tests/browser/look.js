// How every page must look: without a fault that the accessibility checker finds, no wider than its window, and with
// positions' names whole.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** Opens a file at a desk in the light theme and on a phone in the dark one, and has `look(page, width, when)` at each. */
export async function atEitherSize(file, look) {
  const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: ["--no-sandbox"],
  });
  for (const [width, colorScheme] of [[1280, "light"], [390, "dark"]]) {
    const context = await browser.newContext({ viewport: { width, height: 844 }, colorScheme });
    const page = await context.newPage();
    const faults = [];
    page.on("pageerror", (error) => faults.push(error.message));
    await page.goto(pathToFileURL(file).href);
    await look(page, width, `${width}-${colorScheme}`);
    assert.deepEqual(faults, []);
    await context.close();
  }
  await browser.close();
}

/** Fails where the checker finds any fault. */
export async function accessible(page, when) {
  await page.evaluate(axe);
  const found = await page.evaluate(() => globalThis.axe.run(document, { resultTypes: ["violations"] }));
  const faults = found.violations.map((v) => `${v.impact}: ${v.id}: ${v.nodes.map((n) => `${n.target} ${n.failureSummary}`).join("; ")}`);
  assert.deepEqual(faults, [], when);
}

/** Fails where the page itself can be scrolled sideways. */
export async function fits(page, width) {
  assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), width);
}

/** Fails where one of the names that `selector` finds is cut off or goes on in a new line other than after + or =. */
export async function namesAreWhole(page, selector) {
  const [seen, wraps, faults] = await page.evaluate((selector) => {
    const [names, faults] = [[...document.querySelectorAll(selector)], []];
    let wraps = 0;
    for (const name of names) {
      if (name.scrollWidth > name.clientWidth && name.clientWidth > 0) faults.push(`cut off: ${name.textContent}`);
      const texts = document.createTreeWalker(name, NodeFilter.SHOW_TEXT);
      let before = null;
      for (let text = texts.nextNode(); text; text = texts.nextNode()) {
        if (text.parentElement.closest("kbd")) continue;
        for (let i = 0; i < text.length; i++) {
          const range = document.createRange();
          range.setStart(text, i);
          range.setEnd(text, i + 1);
          const { top } = range.getBoundingClientRect();
          if (before && top > before.top + 3) {
            wraps++;
            if (!"+=".includes(before.letter)) faults.push(`${name.textContent} after ${before.letter}`);
          }
          before = { top, letter: text.data[i] };
        }
      }
    }
    return [names.length, wraps, faults];
  }, selector);
  assert.deepEqual(faults, []);
  assert.ok(seen > 0, `no name is a ${selector}`);
  return wraps;
}
