// How every page must look: without a fault that the accessibility checker finds, no wider than its window, and with
// positions' names whole.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** What may stand between a page's margins on paper, in CSS pixels: of A4 and of Letter, with margins of 13 mm. */
const PAPERS = [[695, "A4"], [718, "Letter"]];

/** Starts a browser without a window. */
export function launched(...more) {
  return chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: ["--no-sandbox", ...more] });
}

/** Leaves a picture of the whole page in a folder, for somebody to look at, where DRYWIRE_SCREENSHOTS is set. */
export async function picture(page, folder, name) {
  if (process.env.DRYWIRE_SCREENSHOTS) await page.screenshot({ path: join(folder, `${name}.png`), fullPage: true });
}

/** Opens a file at a desk in the light theme and on phones in the dark one, and has `look(page, width, when)` at each. */
export async function atEverySize(file, look) {
  const browser = await launched();
  const page = await (await browser.newContext()).newPage();
  const faults = [];
  page.on("pageerror", (error) => faults.push(error.message));
  page.on("console", (message) => faults.push(message.text()));
  for (const [width, colorScheme] of [[1280, "light"], [390, "dark"], [320, "dark"]]) {
    await page.setViewportSize({ width, height: 844 });
    await page.emulateMedia({ media: null, colorScheme });
    await page.goto(pathToFileURL(file).href);
    await look(page, width, `${width}-${colorScheme}`);
    assert.deepEqual(faults, []);
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

/** Fails where paper would cut something off at the side, or show it light on dark. */
export async function printsWhole(page) {
  const { width, height } = page.viewportSize();
  await page.emulateMedia({ media: "print" });
  for (const [across, paper] of PAPERS) {
    await page.setViewportSize({ width: across, height });
    const cut = await page.evaluate(() => [...document.querySelectorAll("body *")].filter((node) => {
      const { overflowX } = getComputedStyle(node);
      const { width, right } = node.getBoundingClientRect();
      if (width <= 1) return false;
      return right > innerWidth + 0.5 || (overflowX !== "visible" && node.scrollWidth > node.clientWidth);
    }).map((node) => `${node.localName}.${node.className}: ${node.textContent.slice(0, 40)}`));
    assert.deepEqual(cut, [], paper);
    const ground = await page.evaluate(() => getComputedStyle(document.body).backgroundColor);
    assert.ok(["rgb(255, 255, 255)", "rgba(0, 0, 0, 0)"].includes(ground), ground);
  }
  await page.emulateMedia({ media: null });
  await page.setViewportSize({ width, height });
}

/** Fails where a name written from right to left has drawn in what stands beside it; returns how many there are. */
export async function namesKeepToThemselves(page) {
  const [seen, faults] = await page.evaluate(() => {
    const rect = (node, from, to) => {
      const range = document.createRange();
      range.setStart(node, from);
      range.setEnd(node, to);
      return range.getBoundingClientRect();
    };
    const [names, faults] = [[...document.querySelectorAll("bdi")], []];
    for (const name of names) {
      const [before, after] = [name.previousSibling, name.nextSibling];
      const own = [...name.getClientRects()];
      if (after?.nodeType === Node.TEXT_NODE && after.data.trim()) {
        const at = after.data.search(/\S/);
        const next = rect(after, at, at + 1);
        const line = own.at(-1);
        if (next.top < line.bottom - 2 && next.left < line.right - 0.5) faults.push(`${name.textContent} and ${after.data}`);
      }
      if (before?.nodeType === Node.TEXT_NODE && before.data.trim()) {
        const at = before.data.trimEnd().length;
        const last = rect(before, at - 1, at);
        if (last.bottom > own[0].top + 2 && last.right > own[0].left + 0.5) faults.push(`${before.data} and ${name.textContent}`);
      }
    }
    return [names.length, faults];
  });
  assert.deepEqual(faults, []);
  return seen;
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
