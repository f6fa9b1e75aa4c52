// Drives the page that plays by keys and pointer: switching, seeking, loops, knobs, the blind comparison, sounds of the
// listener's own, and text from strangers.

import assert from "node:assert/strict";
import { choose, open, plays, settled, tried } from "./driven.js";
import { accessible } from "./look.js";
import { floats, wave } from "./sounds.js";

await tried({
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
    assert.match(await page.locator("#said").textContent(), /^both coils in parallel, equally loud$/);
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
    await settled(page);
    const before = await curve();
    const box = await tone.boundingBox();
    await page.mouse.move(box.x + 60, box.y + 60);
    await page.mouse.down();
    await page.mouse.move(box.x + 60, box.y + 140, { steps: 5 });
    await page.mouse.up();
    assert.equal(await tone.getAttribute("aria-valuetext"), "5.0 of 10");
    await settled(page);
    assert.notEqual(await curve(), before);
    // With matched levels the tone knob leaves the level; the kernel is another.
    const heard = () => page.evaluate(async () => {
      const { mixer, settled } = globalThis.bench;
      await settled();
      const { kernels } = mixer.now[mixer.chosen];
      const planes = await globalThis.alone(mixer.chosen);
      const power = planes.flatMap((plane) => [...plane]).reduce((sum, x) => sum + x * x, 0);
      return { rms: mixer.currentGains()[mixer.chosen] * Math.sqrt(power), taps: [...kernels.feeds[0].slice(500, 600)] };
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

  async "a file that is no good is told until the next good one, whichever was dropped last"() {
    const { page, close } = await open("listen.html");
    const trouble = page.locator("#own-trouble");
    await choose(page, "words.wav", Buffer.from("these are words"));
    await trouble.waitFor();
    assert.equal(await trouble.getAttribute("role"), "alert");
    await choose(page, "broken.wav", floats([0.5, NaN, 0.25]));
    await page.waitForFunction(() => document.querySelector("#own-trouble").textContent.startsWith("broken.wav"));
    assert.match(await trouble.textContent(), /it holds samples that are no numbers\. Nothing has changed\.$/);
    assert.equal(await page.locator("#length").textContent(), " / 3.0 s");
    await choose(page, "good.wav", wave(48000, 1, 2));
    await plays(page, "good.wav");
    assert.ok(await trouble.isHidden());
    await page.evaluate(() => { globalThis.said = []; new MutationObserver(() => globalThis.said.push(document.querySelector("#own-said").textContent))
      .observe(document.querySelector("#own-said"), { childList: true, characterData: true, subtree: true }); });
    await choose(page, "one.wav", wave(48000, 2, 20));
    await choose(page, "two.wav", wave(48000, 1, 4));
    await plays(page, "two.wav");
    await page.waitForTimeout(500);
    assert.equal(await page.locator("#length").textContent(), " / 4.0 s");
    assert.ok(!await page.evaluate(() => globalThis.said.includes("Playing one.wav.")));
    await close();
  },

  async "loading is told, and told no more when all is there"() {
    const { page, close } = await open("listen.html", { watch: "#loading" }, "#check");
    await settled(page);
    const told = await page.evaluate(() => globalThis.watched);
    assert.deepEqual([told.includes("Reading the sound …"), told.includes("Working out 6 arrangements …"), told.at(-1)], [true, true, ""]);
    assert.equal(await page.locator("#loading").getAttribute("role"), "status");
    await close();
  },

  async "without a worker everything is worked out in the page"() {
    const { page, close } = await open("listen.html", { without: "Worker" }, "#check");
    await settled(page);
    assert.equal(await page.evaluate(() => globalThis.bench.mixer.ready), 6);
    await page.keyboard.press("3");
    await page.keyboard.press("Space");
    await page.waitForFunction(() => Number(document.querySelector("#time").textContent) > 0.1);
    assert.equal(await page.evaluate(() => globalThis.bench.mixer.player.heard), 2);
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
});
