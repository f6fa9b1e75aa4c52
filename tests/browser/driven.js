// Drives the page that plays: what its cases share. Each is told by its name, whether it holds and how long it took;
// `node FILE FOLDER [WORDS]` tries those whose names have the words in them.

import assert from "node:assert/strict";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { launched } from "./look.js";

const DESK = { width: 1280, height: 900 };

/** Where the pages are. */
export const folder = resolve(process.argv[2]);

const browser = await launched("--autoplay-policy=user-gesture-required");

/** The page in which one case after the other opens what it is about: a new one takes as long as most cases. */
let shared = null;

/** Returns a page with nothing in it, and what to do with it in the end; one of its own where `options` want that. */
async function empty({ hasTouch, without, watch }) {
  if (!hasTouch && !without && !watch) {
    shared ??= await (await browser.newContext()).newPage();
    // An address that differs in its fragment alone would not be loaded again.
    await shared.goto("about:blank");
    return { page: shared, leave() {} };
  }
  const context = await browser.newContext({ hasTouch });
  const page = await context.newPage();
  if (without) await page.addInitScript((name) => { delete globalThis[name]; }, without);
  if (watch) {
    await page.addInitScript((selector) => {
      globalThis.watched = [];
      new MutationObserver(() => {
        const text = document.querySelector(selector)?.textContent;
        if (text !== undefined && text !== globalThis.watched.at(-1)) globalThis.watched.push(text);
      }).observe(document, { childList: true, characterData: true, subtree: true });
    }, watch);
  }
  return { page, leave: () => context.close() };
}

/**
 * Opens a page of the folder, which may neither complain nor ask for anything. With the hash `#check` the page lays itself
 * open, and `alone(index)` gives what a voice makes of the sound, `offline(channels, seconds)` a player as everything
 * stands.
 */
export async function open(name, options = {}, hash = "") {
  const { page, leave } = await empty(options);
  const { viewport = DESK, colorScheme = "light", reducedMotion = "no-preference" } = options;
  await page.setViewportSize(viewport);
  await page.emulateMedia({ media: null, colorScheme, reducedMotion });
  const faults = [];
  const heard = {
    console: (message) => faults.push(`console: ${message.text()}`),
    pageerror: (error) => faults.push(`error: ${error.message}`),
    request: (request) => {
      const url = request.url();
      // The worker that the page makes of its own text.
      const isOwn = url.startsWith("data:") || url.startsWith("blob:null/");
      if (!url.startsWith("file://") && !isOwn) faults.push(`request: ${url}`);
      if (url.startsWith("file://") && !url.includes(`/${name}`)) faults.push(`request: ${url}`);
    },
  };
  for (const [event, listener] of Object.entries(heard)) page.on(event, listener);
  await page.goto(pathToFileURL(join(folder, name)) + hash);
  await page.waitForSelector("body.ready");
  if (hash) await page.evaluate(layOpen);
  // What is drawn by lot.
  if (options.fate !== undefined) await page.evaluate((fate) => { crypto.getRandomValues = (array) => array.fill(fate); }, options.fate);
  return { page, close: async () => {
    for (const [event, listener] of Object.entries(heard)) page.off(event, listener);
    assert.deepEqual(faults, []);
    await leave();
  } };
}

function layOpen() {
  const { mixer, rendered, aligned } = globalThis.bench;
  globalThis.alone = (index) => rendered(mixer.sound, null, aligned(mixer.now[index].kernels, mixer.sound.before));
  globalThis.offline = (channels, seconds) => {
    const { rate } = mixer.sound;
    const context = new OfflineAudioContext({ numberOfChannels: channels, length: seconds * rate, sampleRate: rate });
    const player = mixer.wired(context);
    player.sum.connect(context.destination);
    return { context, player };
  };
}

/** Waits until all voices are as the knobs stand, and are drawn so. */
export function settled(page) {
  return page.evaluate(async () => {
    // A turned knob is told once a frame, and drawn in the frame after that in which its curve is there.
    await new Promise(requestAnimationFrame);
    await globalThis.bench.settled();
    await new Promise(requestAnimationFrame);
    await new Promise(requestAnimationFrame);
  });
}

/** Chooses a sound of the listener's own. */
export function choose(page, name, buffer) {
  return page.locator("#file").setInputFiles({ name, mimeType: "audio/wav", buffer });
}

/** Waits until a sound of the listener's own is played. */
export function plays(page, name) {
  return page.waitForFunction((said) => document.querySelector("#own-said").textContent === said, `Playing ${name}.`, { timeout: 60000 });
}

/** Tries the cases, one after the other, and ends. */
export async function tried(cases) {
  let failed = 0;
  const words = process.argv[3] ?? "";
  for (const [name, holds] of Object.entries(cases)) {
    if (!name.includes(words)) continue;
    const start = Date.now();
    try {
      await holds();
      console.log(`ok: ${name} (${Date.now() - start} ms)`);
    } catch (error) {
      failed++;
      console.log(`FAILED: ${name}\n${error.stack}`);
      await shared?.context().close();
      shared = null;
    }
  }
  await browser.close();
  process.exit(failed === 0 ? 0 : 1);
}
