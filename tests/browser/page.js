// Drives the page in a browser: keys, pointer, knobs, loop, blind comparison, own sound, sizes, themes, names from
// strangers. `node page.js FOLDER` opens listen.html, hostile.html, quiet-knobs.html and long-names.html in FOLDER and leaves
// screenshots beside them.

import assert from "node:assert/strict";
import { writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";
import { accessible, fits, namesAreWhole } from "./look.js";
import { wave } from "./sounds.js";

const folder = resolve(process.argv[2]);
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--autoplay-policy=user-gesture-required"],
});

/** Opens a page that may neither complain nor ask for anything. */
async function open(name, options = {}, hash = "") {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, ...options });
  const page = await context.newPage();
  const faults = [];
  page.on("console", (message) => faults.push(`console: ${message.text()}`));
  page.on("pageerror", (error) => faults.push(`error: ${error.message}`));
  page.on("request", (request) => {
    const url = request.url();
    if (!url.startsWith("file://") && !url.startsWith("data:")) faults.push(`request: ${url}`);
    if (url.startsWith("file://") && !url.includes(`/${name}`)) faults.push(`request: ${url}`);
  });
  if (options.fate !== undefined) {
    await page.addInitScript((fate) => { crypto.getRandomValues = (array) => array.fill(fate); }, options.fate);
  }
  await page.goto(pathToFileURL(join(folder, name)) + hash);
  await page.waitForSelector("body.ready");
  return { page, close: async () => {
    assert.deepEqual(faults, []);
    await context.close();
  } };
}

const tests = {
  async "keys play, choose, match and loop, and can be turned off"() {
    const { page, close } = await open("listen.html");
    const chosen = () => page.locator("#arrangements input:checked").getAttribute("value");
    const pressed = (id) => page.locator(id).getAttribute("aria-pressed");
    await page.keyboard.press("Space");
    assert.equal(await page.locator("#play").getAttribute("aria-label"), "Pause");
    await page.waitForFunction(() => Number(document.querySelector("#time").textContent) > 0.2);
    for (const [key, index] of [["3", "2"], ["1", "0"], ["2", "1"]]) {
      await page.keyboard.press(key);
      assert.equal(await chosen(), index);
    }
    assert.match(await page.locator("#said").textContent(), /^parallel, matched levels$/);
    await page.keyboard.press("m");
    assert.equal(await page.locator("#levels input:checked").getAttribute("value"), "true");
    await page.keyboard.press("l");
    assert.equal(await pressed("#loop"), "false");
    await page.keyboard.press("]");
    assert.equal(await pressed("#loop"), "true");
    await page.locator("#whole").click();
    assert.ok(await page.locator("#whole").isHidden());
    await page.keyboard.press("Space");
    await page.locator("#bench").focus();
    await page.keyboard.press("Space");
    assert.equal(await page.locator("#play").getAttribute("aria-label"), "Play");
    await page.locator("#keys").uncheck();
    await page.locator("#bench").focus();
    await page.keyboard.press("1");
    assert.equal(await chosen(), "1");
    await close();
  },

  async "every control is reached by the tab key, has a name, and shows that it is reached"() {
    const { page, close } = await open("listen.html");
    const reached = [];
    for (let i = 0; i < 60; i++) {
      await page.keyboard.press("Tab");
      const here = await page.evaluate(() => {
        const node = document.activeElement;
        const shows = node.matches("input[type=radio], input[type=file]")
          ? node.parentElement : node;
        const outlined = [shows, shows.querySelector("span")].some((n) => n && getComputedStyle(n).outlineStyle !== "none");
        if (node === document.body) return { what: "BODY" };
        return { what: node.id || node.name || node.className || node.getAttribute("aria-label") || node.tagName, outlined };
      });
      if (here.what === "BODY" || reached.some(({ what }) => what === here.what && what !== "knob")) continue;
      reached.push(here);
    }
    const names = reached.map(({ what }) => what);
    for (const wanted of ["seek", "flag flag-start", "flag flag-end", "play", "loop", "levels", "level", "arrangement", "knob", "keys",
      "blind-a", "blind-b", "blind-trials", "blind-start", "file"]) assert.ok(names.includes(wanted), `${wanted} in ${names}`);
    assert.deepEqual(reached.filter(({ outlined }) => !outlined), []);
    await close();
  },

  async "a touch switches, a click seeks, and a flag is dragged"() {
    const { page, close } = await open("listen.html", { hasTouch: true, viewport: { width: 390, height: 844 } });
    await page.locator(".arrangement").nth(3).tap();
    assert.equal(await page.locator("#arrangements input:checked").getAttribute("value"), "3");
    await page.locator("#play").tap();
    const box = await page.locator("#wave").boundingBox();
    await page.mouse.click(box.x + box.width / 2, box.y + box.height / 3);
    const seconds = Number(await page.locator("#time").textContent());
    assert.ok(Math.abs(seconds - 1.5) < 0.2, String(seconds));
    await page.mouse.move(box.x + box.width, box.y + box.height - 8);
    await page.mouse.down();
    await page.mouse.move(box.x + box.width * 0.75, box.y + box.height - 8, { steps: 4 });
    await page.mouse.up();
    const end = Number(await page.locator(".flag-end").getAttribute("aria-valuenow"));
    assert.ok(Math.abs(end - 2.25) < 0.1, String(end));
    assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), 390);
    await close();
  },

  async "a knob is turned by keys and by dragging, is heard at once, and goes back"() {
    const { page, close } = await open("listen.html", {}, "#check");
    const volume = page.getByRole("slider", { name: "Volume" });
    const tone = page.getByRole("slider", { name: "Tone" });
    await volume.focus();
    for (const [key, value] of [["ArrowDown", "9.9"], ["PageDown", "8.9"], ["Home", "0"], ["ArrowUp", "0.1"], ["End", "10"]]) {
      await page.keyboard.press(key);
      assert.equal(await volume.getAttribute("aria-valuenow"), value);
    }
    const curve = () => page.locator(".curve.chosen").getAttribute("d");
    // A turned knob is drawn in the browser's next frame; until then the curve is that of the turn before.
    await page.waitForFunction(() => globalThis.bench.desk.turned.volume === 10);
    const before = await curve();
    const box = await tone.boundingBox();
    await page.mouse.move(box.x + 60, box.y + 60);
    await page.mouse.down();
    await page.mouse.move(box.x + 60, box.y + 140, { steps: 5 });
    await page.mouse.up();
    assert.equal(await tone.getAttribute("aria-valuetext"), "5.0 of 10");
    await page.waitForFunction(() => globalThis.bench.desk.turned.tone === 5);
    assert.notEqual(await curve(), before);
    // With matched levels the tone knob leaves the level; the kernel is another.
    const told = await page.evaluate(async () => {
      const { desk, rendered, aligned } = globalThis.bench;
      const rms = (planes) => Math.sqrt(planes.flatMap((p) => [...p]).reduce((s, x) => s + x * x, 0) / planes.length / planes[0].length);
      const heard = (voice, kernels, gain) => rendered(desk.sound, voice, aligned(kernels, desk.sound.before)).then((planes) => gain * rms(planes));
      const i = desk.chosen;
      return [await heard(desk.voices[i], desk.home[i].kernels, desk.gains.matched[i]), await heard(desk.voices[i], desk.now[i].kernels, desk.currentGains()[i])];
    });
    assert.ok(Math.abs(20 * Math.log10(told[1] / told[0])) < 1.5, `${told}`);
    await page.getByRole("button", { name: "Back to the guitar file's positions" }).click();
    assert.equal(await tone.getAttribute("aria-valuenow"), "10");
    await page.waitForFunction((d) => document.querySelector(".curve.chosen").getAttribute("d") === d, before);
    await close();
  },

  async "a volume knob turned while it plays at matched levels makes neither burst nor click"() {
    const { page, close } = await open("listen.html", {}, "#check");
    const told = await page.evaluate(async () => {
      const { desk } = globalThis.bench;
      const { rate } = desk.sound;
      const context = new OfflineAudioContext({ numberOfChannels: 1, length: rate, sampleRate: rate });
      desk.player = desk.wired(context);
      desk.player.sum.connect(context.destination);
      desk.player.play(0);
      for (const [time, volume] of [[0.4, 2], [0.405, 1], [0.6, 10]]) {
        context.suspend(time).then(() => {
          desk.turn({ ...desk.turned, volume });
          return context.resume();
        });
      }
      const heard = (await context.startRendering()).getChannelData(0);
      desk.player = null;
      const most = (from, to, of) => {
        let highest = 0;
        for (let n = from * rate; n < to * rate; n++) highest = Math.max(highest, Math.abs(of(n)));
        return highest;
      };
      const [level, step] = [(n) => heard[n], (n) => heard[n] - heard[n - 1]];
      return { before: [most(0.2, 0.4, level), most(0.2, 0.4, step)], after: [most(0.4, 0.9, level), most(0.4, 0.9, step)],
        turned: most(0.5, 0.6, level) };
    });
    assert.ok(told.after[0] <= 1.1 * told.before[0], `no burst: ${JSON.stringify(told)}`);
    assert.ok(told.after[1] <= 1.1 * told.before[1], `no click: ${JSON.stringify(told)}`);
    assert.ok(told.turned >= 0.25 * told.before[0], `still as loud: ${JSON.stringify(told)}`);
    await close();
  },

  async "nothing goes above the ceiling wherever the knobs stand"() {
    const { page, close } = await open("quiet-knobs.html", {}, "#check");
    await page.getByRole("slider", { name: "Volume" }).focus();
    await page.keyboard.press("End");
    await page.getByRole("slider", { name: "Tone" }).focus();
    await page.keyboard.press("End");
    await page.locator("#levels input[value=true]").check();
    await page.waitForTimeout(1500);
    const highest = await page.evaluate(async () => {
      const { desk, rendered, aligned } = globalThis.bench;
      const peaks = await Promise.all(desk.now.map(async (voice, i) => {
        const planes = await rendered(desk.sound, desk.voices[i], aligned(voice.kernels, desk.sound.before));
        return desk.currentGains()[i] * Math.max(...planes.map((p) => p.reduce((m, x) => Math.max(m, Math.abs(x)), 0)));
      }));
      return Math.max(...peaks);
    });
    assert.ok(highest <= 10 ** (-1 / 20), String(highest));
    assert.ok(highest > 0.8, `the guard holds back no more than it must: ${highest}`);
    await close();
  },

  async "a blind run of sixteen that is all right is a difference heard, and shows nothing before its end"() {
    const { page, close } = await open("listen.html", { fate: 1 });
    await page.locator("#blind-start").click();
    for (let trial = 1; trial <= 16; trial++) {
      assert.match(await page.locator("#blind-where").textContent(), new RegExp(`^Trial ${trial} of 16: is X series \\(A\\) or parallel \\(B\\)\\?$`));
      assert.equal(await page.locator("#arrangements input:checked").count(), 0);
      assert.equal(await page.locator(".curve.chosen").count(), 0);
      assert.ok(await page.locator("#meter").isHidden());
      await page.keyboard.press(["a", "x", "b"][trial % 3]);
      await page.keyboard.press("4");
      if (trial === 2) await accessible(page, "while a blind run is on");
      await (trial % 2 ? page.locator("[data-answer=a]").click() : page.keyboard.press("1"));
    }
    const result = await page.locator("#blind-result").textContent();
    // 0.5^16 = 0.0000153.
    assert.match(result, /^16 of 16 right, p = 0\.000015\. You heard a difference\./);
    assert.equal(await page.locator("#arrangements input:checked").getAttribute("value"), "0");
    await accessible(page, "with a blind result");
    await close();
  },

  async "a blind run of wrong answers shows no difference, and one that is stopped no result"() {
    const { page, close } = await open("listen.html", { fate: 0 });
    await page.locator("#blind-trials").selectOption({ label: "10" });
    await page.locator("#blind-start").click();
    for (let trial = 0; trial < 10; trial++) await page.locator(`[data-answer=${trial < 8 ? "b" : "a"}]`).click();
    // 8 of 10: (45 + 10 + 1) / 1024 = 0.0547, which is not enough.
    assert.match(await page.locator("#blind-result").textContent(), /^8 of 10 right, p = 0\.055\. No difference was shown\./);
    await page.locator("#blind-b").selectOption({ label: "series" });
    assert.ok(await page.locator("#blind-start").isDisabled());
    await page.locator("#blind-b").selectOption({ label: "split-a" });
    await page.locator("#blind-start").click();
    await page.locator("#blind-stop").click();
    assert.match(await page.locator("#blind-result").textContent(), /^Stopped without a result/);
    await close();
  },

  async "a minute of own stereo sound goes through the same arrangements and switches without a gap"() {
    const { page, close } = await open("listen.html", {}, "#check");
    await page.keyboard.press("Space");
    await page.locator("#file").setInputFiles({ name: "<b>minute</b>.wav", mimeType: "audio/wav", buffer: wave(48000, 2, 60) });
    await page.waitForFunction(() => document.querySelector("#own-said").textContent.startsWith("Playing <b>minute</b>.wav"), null, { timeout: 60000 });
    assert.equal(await page.locator("#length").textContent(), " / 60.0 s");
    const told = await page.evaluate(async () => {
      const { desk, rendered, aligned } = globalThis.bench;
      const { sound } = desk;
      const seconds = 60;
      const context = new OfflineAudioContext({ numberOfChannels: 2, length: seconds * sound.rate, sampleRate: sound.rate });
      desk.choose(0);
      const player = desk.wired(context);
      player.loops = false;
      player.sum.connect(context.destination);
      player.play(0);
      const order = Array.from({ length: 59 }, (_, i) => [1, 5, 0][i % 3]);
      order.forEach((voice, i) => context.suspend(i + 1).then(() => {
        player.choose(voice);
        return context.resume();
      }));
      const mixed = await context.startRendering();
      const gains = desk.currentGains();
      const alone = {};
      for (const i of [0, 1, 5]) alone[i] = await rendered(sound, desk.voices[i], aligned(desk.now[i].kernels, sound.before));
      let [off, step, own] = [0, 0, 0];
      for (let channel = 0; channel < 2; channel++) {
        const heard = mixed.getChannelData(channel);
        // Past the fade-in of the beginning.
        for (let n = 4800; n < heard.length; n++) {
          const second = Math.floor(n / sound.rate);
          const since = n - second * sound.rate;
          const voice = second === 0 ? 0 : order[second - 1];
          const at = (i, k) => gains[i] * alone[i][channel][k - sound.before];
          if (second === 0 || since > 0.013 * sound.rate) off = Math.max(off, Math.abs(heard[n] - at(voice, n)));
          step = Math.max(step, Math.abs(heard[n] - heard[n - 1]));
          own = Math.max(own, Math.abs(at(voice, n) - at(voice, n - 1)));
        }
      }
      return { off, step, own };
    });
    assert.ok(told.off < 1e-5, `outside the fades it is the arrangement: ${told.off}`);
    assert.ok(told.own > 0 && told.step <= 1.05 * told.own, `no step larger than the programme's: ${told.step}, ${told.own}`);
    await page.locator("#own-back").click();
    await page.waitForFunction(() => document.querySelector("#length").textContent === " / 3.0 s");
    await close();
  },

  async "a file that is no sound is refused by name, and nothing changes"() {
    const { page, close } = await open("listen.html");
    await page.evaluate(() => {
      const data = new DataTransfer();
      data.items.add(new File(["these are words"], "<img src=x onerror=alert(1)>.wav", { type: "audio/wav" }));
      document.querySelector("main").dispatchEvent(new DragEvent("drop", { dataTransfer: data, bubbles: true, cancelable: true }));
    });
    await page.waitForFunction(() => document.querySelector("#own-said").textContent.includes("was not taken"));
    assert.equal(await page.locator("#own-said").textContent(),
      "<img src=x onerror=alert(1)>.wav was not taken: it is not a sound that this browser can decode. Nothing has changed.");
    assert.equal(await page.locator("#length").textContent(), " / 3.0 s");
    await page.keyboard.press("Space");
    await page.waitForFunction(() => Number(document.querySelector("#time").textContent) > 0.1);
    await close();
  },

  async "text from strangers is text"() {
    const { page, close } = await open("hostile.html");
    assert.equal(await page.locator("h1").textContent(), "<img src=x onerror=\"globalThis.ran = 1\">");
    assert.match(await page.locator(".about").textContent(), /<\/p><script>globalThis.ran = 1<\/script>/);
    assert.match(await page.locator("main").textContent(), /<\/script><svg onload=globalThis.ran=1>/);
    assert.equal(await page.evaluate(() => globalThis.ran), undefined);
    assert.equal(await page.locator("main img:not(.plot img), main script").count(), 0);
    await close();
  },

  async "no accessibility fault in either theme, and no motion where none is wanted"() {
    for (const colorScheme of ["light", "dark"]) {
      const { page, close } = await open("listen.html", { colorScheme, reducedMotion: "reduce" });
      await accessible(page, colorScheme);
      assert.equal(await page.evaluate(() => getComputedStyle(document.querySelector(".ring"), "::after").transitionDuration), "0s");
      await close();
    }
  },

  async "it fits a desk and a phone in either theme"() {
    for (const width of [1280, 390]) {
      for (const colorScheme of ["light", "dark"]) {
        const { page, close } = await open("listen.html", { viewport: { width, height: 844 }, colorScheme });
        await fits(page, width);
        writeFileSync(join(folder, `listen-${width}-${colorScheme}.png`), await page.screenshot({ fullPage: true }));
        await close();
      }
    }
  },

  async "long names of positions fit and break between their parts, and which is chosen is marked"() {
    for (const width of [1280, 390]) {
      const { page, close } = await open("long-names.html", { viewport: { width, height: 844 }, colorScheme: "dark" });
      const shown = () => page.locator(".ring").evaluateAll((rings) => rings.map((ring) => getComputedStyle(ring, "::after").transform === "none"));
      await page.keyboard.press("3");
      await page.waitForFunction(() => document.getAnimations().length === 0);
      assert.deepEqual(await shown(), [false, false, true, false]);
      await fits(page, width);
      const inCards = await namesAreWhole(page, ".told .name.parted");
      const inTables = await namesAreWhole(page, ".scroll th:has(wbr)");
      assert.ok(inCards > 3 && inTables > 5, `${inCards} and ${inTables} names go on in a new line`);
      const name = await page.locator(".curve-name").boundingBox();
      const curves = await page.locator("#curves svg").boundingBox();
      assert.ok(name.x >= curves.x && name.x + name.width <= curves.x + curves.width, "the curve's name stays in the picture");
      assert.match(await page.locator(".curve-name").textContent(), /^selector:2\+add-neck:2\+bridge=series-reversed\+/);
      await accessible(page, `long names, ${width}`);
      await page.screenshot({ path: join(folder, `long-names-${width}.png`), fullPage: true });
      await close();
    }
  },
};

let failed = 0;
const only = process.argv[3];
for (const [name, test] of Object.entries(tests)) {
  if (only && !name.includes(only)) continue;
  const start = Date.now();
  try {
    await test();
    console.log(`ok: ${name} (${Date.now() - start} ms)`);
  } catch (error) {
    failed++;
    console.log(`FAILED: ${name}\n${error.stack}`);
  }
}
await browser.close();
process.exit(failed === 0 ? 0 : 1);
