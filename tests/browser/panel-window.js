// The panel in a browser's window, as every test of it begins and is driven by the keyboard.

import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { accessible, fits, launched, picture, printsWhole } from "./look.js";

/** Starts a panel of the guitars in a folder, which ends with the test at the latest, and returns it with the address that enters it. */
export function started(guitars, ...more) {
  const panel = spawn(process.env.DRYWIRE, ["panel", guitars, "--no-open", ...more], { stdio: ["ignore", "pipe", "inherit"] });
  process.on("exit", () => panel.kill());
  return new Promise((resolved) => panel.stdout.once("data", (line) => resolved({ panel, address: line.toString().trim() })));
}

/** Opens `address` in a window of its own; what goes wrong in it is added to `faults`. */
export async function opened(context, address, faults) {
  const page = await context.newPage();
  page.on("pageerror", (error) => faults.push(error.message));
  page.on("console", (message) => faults.push(message.text()));
  await page.goto(address);
  await page.waitForSelector("main h1");
  return page;
}

/** Returns the arguments with which a browser takes a recording for the sound card's input, and asks nobody. */
export const hearing = (recording) => ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream", `--use-file-for-fake-audio-capture=${recording}`];

/**
 * Starts a panel and a browser, with `more` arguments, and enters by a window at a desk; returns all of them, with the `faults` of its
 * windows.
 */
export async function entered(guitars, ...more) {
  const { panel, address } = await started(guitars);
  const browser = await launched(...more);
  const context = await browser.newContext({ viewport: { width: 1400, height: 900 } });
  const faults = [];
  const page = await opened(context, address, faults);
  /** Returns the address of what is below the panel's own path. */
  const base = await page.evaluate(() => document.body.dataset.base);
  const at = (path) => new URL(`${base}${path}`, address).href;
  const end = async () => {
    panel.kill("SIGTERM");
    await browser.close();
  };
  return { browser, context, page, faults, at, end };
}

/** Opens the guitar of the list, and its place of this name. */
export async function placed(page, name) {
  await page.locator(".guitar .open").click();
  await page.waitForSelector("#undo");
  await page.locator(`nav >> text="${name}"`).click();
}

/** Goes on by the tabulator key, or back where that is the shorter way, to the element that `selector` finds. */
export async function tabTo(page, selector) {
  for (let presses = 0; presses < 240; presses += 1) {
    const way = await page.evaluate((wanted) => {
      const { activeElement: own } = document;
      if (own.matches(wanted)) return null;
      const found = [...document.querySelectorAll(wanted)];
      const isBehind = own !== document.body && found.length > 0
        && found.every((other) => own.compareDocumentPosition(other) & Node.DOCUMENT_POSITION_PRECEDING);
      return isBehind ? "Shift+Tab" : "Tab";
    }, selector);
    if (way === null) return;
    await page.keyboard.press(way);
  }
  throw new Error(`the tab key does not reach ${selector}`);
}

/** Waits for the picture of what was found, and fails where it cannot be drawn. */
export async function pictured(page) {
  await page.waitForSelector(".fit img");
  assert.ok(await page.evaluate(async () => {
    const image = document.querySelector(".fit img");
    await image.decode();
    return image.naturalWidth > 0;
  }), "the picture is there");
}

/**
 * Looks at the page at a desk and on phones, in light and dark: nothing is wider than its window, the accessibility checker
 * finds nothing, and a picture is left; on paper nothing is cut off. `again` is awaited before each look.
 */
export async function looked(page, folder, name, again = async () => {}) {
  for (const [width, height] of [[1400, 900], [390, 844], [320, 640]]) {
    for (const colorScheme of ["light", "dark"]) {
      await page.setViewportSize({ width, height });
      await page.emulateMedia({ colorScheme });
      await again();
      await fits(page, width);
      await accessible(page, `${name} ${width} ${colorScheme}`);
      await picture(page, folder, `${name}-${width}-${colorScheme}`);
    }
  }
  await printsWhole(page);
}

/** Waits until a window of Confirm tells these words first. */
export const verdictIn = (page, words) =>
  page.waitForFunction((wanted) => document.querySelector(".verdict")?.textContent.includes(wanted), words, { timeout: 60000 });

/** Holds that a second window of Confirm tells these words as well, and looks at the page with its picture; it is at a desk afterwards. */
export async function seenAlike({ context, page, faults }, folder, name, words) {
  const second = await opened(context, page.url(), faults);
  await verdictIn(second, words);
  await second.close();
  await looked(page, folder, name, async () => {
    await page.reload();
    await pictured(page);
  });
  await page.setViewportSize({ width: 1400, height: 900 });
}
