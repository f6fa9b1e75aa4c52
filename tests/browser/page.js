// Drives the page in a browser: keys, pointer, knobs, loop, blind comparison, own sound, sizes, themes, names from
// strangers. `node page.js FOLDER` opens listen.html, hostile.html, quiet-knobs.html and long-names.html in FOLDER and leaves
// screenshots beside them.

import assert from "node:assert/strict";
import { writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";
import { accessible, fits, namesAreWhole } from "./look.js";
import { floats, wave } from "./sounds.js";

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
    // The worker that the page makes of its own text.
    const isOwn = url.startsWith("data:") || url.startsWith("blob:null/");
    if (!url.startsWith("file://") && !isOwn) faults.push(`request: ${url}`);
    if (url.startsWith("file://") && !url.includes(`/${name}`)) faults.push(`request: ${url}`);
  });
  if (options.fate !== undefined) {
    await page.addInitScript((fate) => { crypto.getRandomValues = (array) => array.fill(fate); }, options.fate);
  }
  if (options.without) await page.addInitScript((name) => { delete globalThis[name]; }, options.without);
  if (options.watch) {
    await page.addInitScript((selector) => {
      globalThis.watched = [];
      new MutationObserver(() => {
        const text = document.querySelector(selector)?.textContent;
        if (text !== undefined && text !== globalThis.watched.at(-1)) globalThis.watched.push(text);
      }).observe(document, { childList: true, characterData: true, subtree: true });
    }, options.watch);
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
    assert.match(await page.locator("#said").textContent(), /^both coils in parallel, matched levels$/);
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
    // A turned knob is drawn once its curve has been worked out; until then the curve is that of the turn before.
    const drawn = () => page.evaluate(async () => {
      const { settled } = globalThis.bench;
      await new Promise(requestAnimationFrame);
      await settled();
      await new Promise(requestAnimationFrame);
      await new Promise(requestAnimationFrame);
    });
    await drawn();
    const before = await curve();
    const box = await tone.boundingBox();
    await page.mouse.move(box.x + 60, box.y + 60);
    await page.mouse.down();
    await page.mouse.move(box.x + 60, box.y + 140, { steps: 5 });
    await page.mouse.up();
    assert.equal(await tone.getAttribute("aria-valuetext"), "5.0 of 10");
    await drawn();
    assert.notEqual(await curve(), before);
    // With matched levels the tone knob leaves the level; the kernel is another.
    const heard = () => page.evaluate(async () => {
      const { desk, rendered, aligned, settled } = globalThis.bench;
      await settled();
      const { kernels } = desk.now[desk.chosen];
      const planes = await rendered(desk.sound, null, aligned(kernels, desk.sound.before));
      const power = planes.flatMap((plane) => [...plane]).reduce((sum, x) => sum + x * x, 0);
      return { rms: desk.currentGains()[desk.chosen] * Math.sqrt(power), taps: [...kernels.feeds[0].slice(500, 600)] };
    });
    const turned = await heard();
    await page.getByRole("button", { name: "Back to the guitar file's positions" }).click();
    assert.equal(await tone.getAttribute("aria-valuenow"), "10");
    await page.waitForFunction((d) => document.querySelector(".curve.chosen").getAttribute("d") === d, before);
    const home = await heard();
    assert.ok(Math.abs(20 * Math.log10(turned.rms / home.rms)) < 1.5, `${turned.rms} for ${home.rms}`);
    assert.notDeepEqual(turned.taps, home.taps);
    await close();
  },

  async "a volume knob turned while it plays at matched levels makes neither burst nor click"() {
    const { page, close } = await open("listen.html", {}, "#check");
    const told = await page.evaluate(async () => {
      const { desk, settled } = globalThis.bench;
      await settled();
      const { rate } = desk.sound;
      const context = new OfflineAudioContext({ numberOfChannels: 1, length: rate, sampleRate: rate });
      desk.player = desk.wired(context);
      desk.player.sum.connect(context.destination);
      desk.player.play(0);
      for (const [time, volume] of [[0.4, 2], [0.405, 1], [0.6, 10]]) {
        context.suspend(time).then(async () => {
          desk.turn({ ...desk.turned, volume });
          while (desk.now[desk.chosen].at !== desk.turned) await new Promise((resume) => setTimeout(resume));
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
    const highest = await page.evaluate(async () => {
      const { desk, rendered, aligned, settled } = globalThis.bench;
      await new Promise(requestAnimationFrame);
      await settled();
      const peaks = await Promise.all(desk.now.map(async (voice, i) => {
        const planes = await rendered(desk.sound, null, aligned(voice.kernels, desk.sound.before));
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
    await page.waitForSelector(".blind-run:not([hidden])");
    for (let trial = 1; trial <= 16; trial++) {
      assert.match(await page.locator("#blind-where").textContent(), new RegExp(`^Trial ${trial} of 16: is X both coils in series \\(A\\) or both coils in parallel \\(B\\)\\?$`));
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
    await page.waitForSelector(".blind-run:not([hidden])");
    for (let trial = 0; trial < 10; trial++) await page.locator(`[data-answer=${trial < 8 ? "b" : "a"}]`).click();
    // 8 of 10: (45 + 10 + 1) / 1024 = 0.0547, which is not enough.
    assert.match(await page.locator("#blind-result").textContent(), /^8 of 10 right, p = 0\.055\. No difference was shown\./);
    await page.locator("#blind-b").selectOption({ label: "both coils in series (series)" });
    assert.ok(await page.locator("#blind-start").isDisabled());
    await page.locator("#blind-b").selectOption({ label: "one coil: A, the bridge side (split-a)" });
    await page.locator("#blind-start").click();
    await page.waitForSelector(".blind-run:not([hidden])");
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
      const { desk, rendered, aligned, settled } = globalThis.bench;
      await settled();
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
      for (const i of [0, 1, 5]) alone[i] = await rendered(sound, null, aligned(desk.now[i].kernels, sound.before));
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
    await page.waitForFunction(() => document.querySelector("#own-trouble").textContent.includes("was not taken"));
    assert.equal(await page.locator("#own-trouble").textContent(),
      "<img src=x onerror=alert(1)>.wav was not taken: it is not a sound that this browser can decode. Nothing has changed.");
    assert.equal(await page.locator("#length").textContent(), " / 3.0 s");
    await page.keyboard.press("Space");
    await page.waitForFunction(() => Number(document.querySelector("#time").textContent) > 0.1);
    await close();
  },

  async "the level has one name, and each arrangement is called by what it does, its key second"() {
    const { page, close } = await open("listen.html");
    const level = page.getByRole("slider", { name: "Playback level", exact: true });
    assert.equal(await level.getAttribute("aria-valuetext"), "−20 dB");
    const names = await page.locator(".told .name").allTextContents();
    assert.deepEqual(names.map((name) => name.replace(/^\d/, "")), ["both coils in series", "both coils in parallel",
      "one coil: A, the bridge side", "one coil: B, the neck side", "both coils in series, out of phase", "both coils in parallel, out of phase"]);
    assert.deepEqual(await page.locator(".told .key").allTextContents(), ["series", "parallel", "split-a", "split-b", "series-reversed", "parallel-reversed"]);
    assert.equal(await page.locator(".told .answer").nth(1).textContent(), "a little brighter", "a set without spectra has no sones");
    assert.match(await page.locator(".scroll tbody th").nth(1).textContent(), /^both coils in parallel parallel$/);
    await close();
    const whole = await open("long-names.html");
    assert.deepEqual(await whole.page.locator(".told .answer").allTextContents(), ["what the others are told against",
      "about half less loud, much brighter", "about two thirds less loud, much brighter", "about a quarter less loud, darker"]);
    await whole.close();
  },

  async "what a source gives only approximately is marked, on cards and in tables"() {
    const { page, close } = await open("quiet-knobs.html");
    const isMarked = [false, false, true, true, true, true];
    const answers = await page.locator(".told .answer").allTextContents();
    const figures = await page.locator(".told .figure").allTextContents();
    const rows = await page.locator(".scroll tbody th").allTextContents();
    assert.deepEqual(answers.map((text) => text.startsWith("≈ ")), isMarked);
    assert.deepEqual(figures.map((text) => text.startsWith("≈ ")), isMarked);
    assert.deepEqual(rows.map((text) => text.startsWith("≈ ")), [...isMarked, ...isMarked, ...isMarked]);
    assert.match(await page.locator("section:has(#figures-title) > .small").textContent(), /≈ marks what this source gives only approximately/);
    await close();
    const exact = await open("listen.html");
    assert.ok(!(await exact.page.locator("section:has(#figures-title) > .small").textContent()).includes("≈"));
    await exact.close();
  },

  async "loading is told, and told no more when all is there"() {
    const { page, close } = await open("listen.html", { watch: "#loading" }, "#check");
    await page.evaluate(() => globalThis.bench.settled());
    const told = await page.evaluate(() => globalThis.watched);
    assert.deepEqual([told.includes("Reading the sound …"), told.includes("Working out 6 arrangements …"), told.at(-1)], [true, true, ""]);
    assert.equal(await page.locator("#loading").getAttribute("role"), "status");
    await close();
  },

  async "a file that is no good is told until the next good one, whichever was dropped last"() {
    const { page, close } = await open("listen.html");
    const choose = (name, buffer) => page.locator("#file").setInputFiles({ name, mimeType: "audio/wav", buffer });
    const trouble = page.locator("#own-trouble");
    await choose("words.wav", Buffer.from("these are words"));
    await trouble.waitFor();
    assert.equal(await trouble.getAttribute("role"), "alert");
    await choose("broken.wav", floats([0.5, NaN, 0.25]));
    await page.waitForFunction(() => document.querySelector("#own-trouble").textContent.startsWith("broken.wav"));
    assert.match(await trouble.textContent(), /it holds samples that are no numbers\. Nothing has changed\.$/);
    assert.equal(await page.locator("#length").textContent(), " / 3.0 s");
    await choose("good.wav", wave(48000, 1, 2));
    await page.waitForFunction(() => document.querySelector("#own-said").textContent === "Playing good.wav.");
    assert.ok(await trouble.isHidden());
    await page.evaluate(() => { globalThis.said = []; new MutationObserver(() => globalThis.said.push(document.querySelector("#own-said").textContent))
      .observe(document.querySelector("#own-said"), { childList: true, characterData: true, subtree: true }); });
    await choose("one.wav", wave(48000, 2, 20));
    await choose("two.wav", wave(48000, 1, 4));
    await page.waitForFunction(() => document.querySelector("#own-said").textContent === "Playing two.wav.");
    await page.waitForTimeout(500);
    assert.equal(await page.locator("#length").textContent(), " / 4.0 s");
    assert.ok(!await page.evaluate(() => globalThis.said.includes("Playing one.wav.")));
    await close();
  },

  async "cards, curves and axis follow the knobs, and what does not says so"() {
    const { page, close } = await open("listen.html", {}, "#check");
    const settled = () => page.evaluate(async () => {
      await new Promise(requestAnimationFrame);
      await globalThis.bench.settled();
      await new Promise(requestAnimationFrame);
      await new Promise(requestAnimationFrame);
    });
    await settled();
    const shown = async () => ({
      figures: await page.locator(".told .figure").allTextContents(), answers: await page.locator(".told .answer").allTextContents(),
      axis: await page.locator(".axis").allTextContents(), notice: await page.locator(".figures-hold").isVisible(),
    });
    const before = await shown();
    assert.equal(before.figures[1], "−5.9 LU");
    assert.equal(before.notice, false);
    await page.getByRole("slider", { name: "Tone" }).focus();
    await page.keyboard.press("Home");
    await page.getByRole("slider", { name: "Volume" }).focus();
    for (let i = 0; i < 5; i++) await page.keyboard.press("PageDown");
    await settled();
    const turned = await shown();
    assert.ok(turned.notice);
    assert.notDeepEqual(turned.axis, before.axis);
    for (const i of [1, 2, 3, 4, 5]) {
      assert.match(turned.figures[i], /^≈ −\d+\.\d LU$/);
      assert.match(turned.answers[i], /^≈ /);
    }
    assert.notEqual(turned.figures[5].slice(2), before.figures[5], "what the treble told is gone with it");
    // Worked out apart: the change of the true levels' energies, K-weighted, from what the files were measured at.
    const wanted = await page.evaluate(() => {
      const { now, set } = globalThis.bench.desk;
      const change = (of, i) => 10 * Math.log10(now[i][of].loud / now[set.baseline][of].loud);
      return set.voices.map((voice, i) => voice.loudness_lu + change("levels", i) - change("home", i));
    });
    turned.figures.forEach((figure, i) => {
      if (i > 0) assert.ok(Math.abs(Number(figure.slice(2, -3).replace("−", "-")) - wanted[i]) < 0.051, `${figure} for ${wanted[i]}`);
    });
    await page.getByRole("button", { name: "Back to the guitar file's positions" }).click();
    await settled();
    assert.deepEqual(await shown(), before);
    await close();
  },

  async "cards follow a sound of one's own"() {
    const { page, close } = await open("listen.html", {}, "#check");
    await page.locator("#file").setInputFiles({ name: "own.wav", mimeType: "audio/wav", buffer: wave(48000, 1, 3) });
    await page.waitForFunction(() => document.querySelector("#own-said").textContent === "Playing own.wav.");
    await page.evaluate(() => globalThis.bench.settled());
    assert.ok(await page.locator(".figures-hold").isVisible());
    const told = await page.evaluate(async () => {
      const { desk, rendered, aligned } = globalThis.bench;
      const energies = [];
      for (const { kernels } of desk.now.slice(0, 2)) {
        const [plane] = await rendered(desk.sound, null, aligned(kernels, desk.sound.before));
        energies.push(plane.reduce((sum, x) => sum + x * x, 0));
      }
      return { rms: 10 * Math.log10(energies[1] / energies[0]), plain: 10 * Math.log10(desk.now[1].levels.plain / desk.now[0].levels.plain) };
    });
    assert.ok(Math.abs(told.rms - told.plain) < 0.1, JSON.stringify(told));
    assert.match(await page.locator(".told .figure").nth(1).textContent(), /^≈ −\d\.\d LU$/);
    await page.locator("#own-back").click();
    await page.waitForFunction(() => document.querySelector(".told .figure:nth-of-type(4), .told .figure") && document.querySelectorAll(".told .figure")[1].textContent === "−5.9 LU");
    assert.ok(await page.locator(".figures-hold").isHidden());
    await close();
  },

  async "what cannot be matched stays at its true level, as in the files"() {
    const { page, close } = await open("listen.html", {}, "#check");
    const told = await page.evaluate(async () => {
      const { desk, settled } = globalThis.bench;
      const gains = async (volume) => {
        desk.turn({ ...desk.turned, volume });
        await settled();
        return desk.now.map((_, i) => [desk.matchedGain(i), desk.trueGain(i), Math.sqrt(desk.now[i].home.loud / desk.now[i].levels.loud)]);
      };
      return { low: await gains(0.5), off: await gains(0) };
    });
    // 31 to 59 dB down is matched, though a knob never was turned so far in a file; 60 dB and more is not.
    for (const [matched, true_, change] of told.low) assert.ok(change > 10 ** (30 / 20) ? matched > true_ * 20 : true, `${matched} ${true_} ${change}`);
    for (const [matched, true_, change] of told.off) {
      if (change > 2000) assert.equal(matched, true_);
    }
    assert.ok(told.off.some(([, , change]) => change > 2000), JSON.stringify(told.off));
    await close();
  },

  async "a voice that would ring too long with the knobs so is told, and sounds as before"() {
    const { page, close } = await open("listen.html", {}, "#check");
    const told = await page.evaluate(async () => {
      const { desk, settled } = globalThis.bench;
      await settled();
      const { ask } = desk.calls;
      desk.calls.ask = (what, given) => (what === "voice" && given.index === 0
        ? Promise.reject(new Error("it rings longer than 5.5 s, more than this page plays")) : ask.call(desk.calls, what, given));
      const { kernels } = desk.now[0];
      desk.turn({ ...desk.turned, tone: 3 });
      await settled();
      return { kept: desk.now[0].kernels === kernels, others: desk.ready };
    });
    assert.deepEqual(told, { kept: true, others: 5 });
    assert.equal(await page.locator("#trouble").textContent(),
      "With the controls so, both coils in series cannot be played: it rings longer than 5.5 s, more than this page plays. It sounds as it did before.");
    assert.equal(await page.locator(".arrangement.waiting").count(), 6, "what is told against it waits");
    await close();
  },

  async "a curve, its card and its line in the picture have one colour and one dash, and every curve its number"() {
    for (const colorScheme of ["light", "dark"]) {
      const { page, close } = await open("listen.html", { colorScheme }, "#check");
      await page.evaluate(() => globalThis.bench.settled());
      const told = await page.evaluate((theme) => {
        const { voices } = globalThis.bench.desk.set;
        const stroke = (node) => getComputedStyle(node).stroke;
        const cards = [...document.querySelectorAll(".sample path")].map(stroke);
        const curves = voices.map((voice) => stroke(document.querySelector(`.curve.hue-${voice.look.hue}`)));
        const picture = atob(document.querySelector(`.plot img.${theme}`).src.split(",")[1]).toLowerCase();
        const hex = (rgb) => `#${rgb.match(/\d+/g).map((part) => Number(part).toString(16).padStart(2, "0")).join("")}`;
        return { cards, curves, inPicture: cards.map((rgb) => picture.includes(hex(rgb))), hues: new Set(cards).size };
      }, colorScheme);
      assert.deepEqual(told.cards, told.curves);
      assert.deepEqual(told.inPicture, [true, true, true, true, true, true]);
      assert.equal(told.hues, 6);
      // What is pressed or warned of has no voice's colour.
      const accents = await page.evaluate(() => [...document.querySelectorAll("#play, .caution, #loop")].map((node) => getComputedStyle(node).borderLeftColor));
      assert.ok(accents.every((colour) => !told.cards.slice(1).includes(colour)), `${accents}`);
      const numbers = await page.locator(".curve-name").allTextContents();
      const all = numbers.join(", ").match(/(?<=^|, )\d+(?=,| |$)/g).map(Number).sort();
      assert.deepEqual(all, [1, 2, 3, 4, 5, 6]);
      assert.ok(numbers.some((text) => text.startsWith("1 both coils in series")), `${numbers}`);
      await close();
    }
  },

  async "a term opens its note by key, beside it and within the window"() {
    for (const width of [1280, 320]) {
      const { page, close } = await open("listen.html", { viewport: { width, height: 700 } });
      for (const term of ["LU", "LUFS", "dBTP", "Q", "centroid", "sone", "RMS"]) {
        const button = page.getByRole("button", { name: term, exact: true }).last();
        await button.focus();
        await page.keyboard.press("Enter");
        const note = page.locator(".note:popover-open");
        assert.match(await note.textContent(), new RegExp(`^${term} `));
        const box = await note.boundingBox();
        assert.ok(box.x >= 0 && box.x + box.width <= width && box.y >= 0 && box.y + box.height <= 700, `${term}: ${JSON.stringify(box)}`);
        await page.keyboard.press("Escape");
        assert.equal(await note.count(), 0);
      }
      await close();
    }
  },

  async "on paper nothing is cut off, and the cards, figures, terms and cautions are there, dark on light"() {
    for (const name of ["listen.html", "long-names.html"]) {
      // A4 less margins of 1 cm, at 96 dots an inch.
      const { page, close } = await open(name, { viewport: { width: 718, height: 1000 }, colorScheme: "dark" });
      await page.emulateMedia({ media: "print", colorScheme: "dark" });
      const cut = await page.evaluate(() => [...document.querySelectorAll("body *")].filter((node) => {
        const { overflowX } = getComputedStyle(node);
        const { right, width } = node.getBoundingClientRect();
        const isShown = width > 1 && node.checkVisibility();
        return isShown && !node.closest(".unseen, svg") && (right > innerWidth + 1 || (overflowX !== "visible" && node.scrollWidth > node.clientWidth + 1));
      }).map((node) => `${node.tagName}.${node.className} ${node.textContent.slice(0, 40)}`));
      assert.deepEqual(cut, []);
      for (const selector of [".arrangement", ".curves", ".scroll", "footer", "#term-lu", ".plot img.light"]) {
        assert.ok(await page.locator(selector).first().isVisible(), selector);
      }
      assert.ok(await page.locator(".plot img.dark").first().isHidden());
      assert.equal(await page.evaluate(() => getComputedStyle(document.documentElement).getPropertyValue("--ink").trim()), "#000");
      await close();
    }
  },

  async "without a worker everything is worked out in the page"() {
    const { page, close } = await open("listen.html", { without: "Worker" }, "#check");
    await page.evaluate(() => globalThis.bench.settled());
    assert.equal(await page.evaluate(() => globalThis.bench.desk.ready), 6);
    await page.keyboard.press("3");
    await page.keyboard.press("Space");
    await page.waitForFunction(() => Number(document.querySelector("#time").textContent) > 0.1);
    assert.equal(await page.evaluate(() => globalThis.bench.desk.player.heard), 2);
    await close();
  },

  async "switches that come faster than a fade never sound together"() {
    const { page, close } = await open("listen.html", {}, "#check");
    const told = await page.evaluate(async () => {
      const { desk, settled } = globalThis.bench;
      await settled();
      const { rate } = desk.sound;
      const context = new OfflineAudioContext({ numberOfChannels: 1, length: rate, sampleRate: rate });
      const player = desk.wired(context);
      player.sum.connect(context.destination);
      // A steady tone in place of the sound, and gains alone: what is heard is the sum of the outlets.
      for (const strand of player.strands) strand.path.filters.forEach(({ filter }) => filter.disconnect());
      const tone = new ConstantSourceNode(context);
      for (const strand of player.strands) tone.connect(strand.outlet.node);
      tone.start();
      for (let i = 0; i < 60; i++) {
        context.suspend(0.1 + 0.007 * i).then(() => {
          player.choose([0, 1, 2][i % 3]);
          return context.resume();
        });
      }
      const heard = (await context.startRendering()).getChannelData(0).slice(Math.round(0.05 * rate));
      return { least: Math.min(...heard), most: Math.max(...heard), last: player.heard };
    });
    assert.ok(Math.abs(told.least - 1) < 1e-5 && Math.abs(told.most - 1) < 1e-5, JSON.stringify(told));
    assert.equal(told.last, 59 % 3);
    await close();
  },

  async "voices beyond those that can run at once are fed again when they are chosen, and are then the same"() {
    const { page, close } = await open("long-names.html", {}, "#check");
    const told = await page.evaluate(async () => {
      const { desk, rendered, aligned, settled } = globalThis.bench;
      await settled();
      const { sound } = desk;
      const context = new OfflineAudioContext({ numberOfChannels: 1, length: 2 * sound.rate, sampleRate: sound.rate });
      const player = desk.wired(context);
      Object.assign(player, { loops: false, most: 1 });
      player.ration();
      player.sum.connect(context.destination);
      const fed = () => player.strands.map((strand) => strand.isFed);
      const seen = [fed()];
      player.play(0);
      context.suspend(0.5).then(() => {
        player.choose(3);
        seen.push(fed());
        return context.resume();
      });
      const heard = (await context.startRendering()).getChannelData(0);
      const [alone] = await rendered(sound, null, aligned(desk.now[3].kernels, sound.before));
      const gain = desk.currentGains()[3];
      let [off, most] = [0, 0];
      for (let n = Math.round(0.8 * sound.rate); n < heard.length; n++) {
        const wanted = gain * alone[n - sound.before];
        off = Math.max(off, Math.abs(heard[n] - wanted));
        most = Math.max(most, Math.abs(wanted));
      }
      return { off: off / most, seen };
    });
    assert.deepEqual(told.seen, [[true, true, true, false], [true, true, false, true]]);
    assert.ok(told.off < 1e-4, String(told.off));
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

  async "it fits a desk and phones in either theme"() {
    for (const width of [1280, 390, 320]) {
      for (const colorScheme of ["light", "dark"]) {
        const { page, close } = await open("listen.html", { viewport: { width, height: 844 }, colorScheme });
        await fits(page, width);
        writeFileSync(join(folder, `listen-${width}-${colorScheme}.png`), await page.screenshot({ fullPage: true }));
        await close();
      }
    }
  },

  async "long names of positions fit and break between their parts, and which is chosen is marked"() {
    for (const width of [1280, 390, 320]) {
      const { page, close } = await open("long-names.html", { viewport: { width, height: 844 }, colorScheme: "dark" });
      const shown = () => page.locator(".ring").evaluateAll((rings) => rings.map((ring) => getComputedStyle(ring, "::after").transform === "none"));
      await page.keyboard.press("3");
      await page.waitForFunction(() => document.getAnimations().length === 0);
      assert.deepEqual(await shown(), [false, false, true, false]);
      await fits(page, width);
      const inCards = await namesAreWhole(page, ".told .key.parted");
      const inTables = await namesAreWhole(page, ".scroll th .key:has(wbr)");
      assert.ok(inCards > 3 && inTables > 5, `${inCards} and ${inTables} names go on in a new line`);
      const curves = await page.locator("#curves svg").boundingBox();
      for (const name of await page.locator(".curve-name").all()) {
        const box = await name.boundingBox();
        assert.ok(box.x >= curves.x && box.x + box.width <= curves.x + curves.width, "a curve's name stays in the picture");
      }
      assert.match(await page.locator(".curve-name .chosen").textContent(), /^3 bridge \(coils in/);
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
