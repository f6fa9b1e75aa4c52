// Looks at the page that plays: names, marks, colours, terms, sizes, themes, paper. With DRYWIRE_SCREENSHOTS set it leaves
// pictures beside the pages.

import assert from "node:assert/strict";
import { folder, open, settled, tried } from "./driven.js";
import { accessible, fits, namesAreWhole, picture } from "./look.js";

await tried({
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

  async "a curve, its card and its line in the picture have one colour and one dash, and every curve its number"() {
    const { page, close } = await open("listen.html", {}, "#check");
    await settled(page);
    for (const colorScheme of ["light", "dark"]) {
      await page.emulateMedia({ colorScheme });
      const told = await page.evaluate((theme) => {
        const { voices } = globalThis.bench.mixer.set;
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
    }
    await close();
  },

  async "a term opens its note by key, beside it and within the window"() {
    const { page, close } = await open("listen.html");
    for (const width of [1280, 320]) {
      await page.setViewportSize({ width, height: 700 });
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
    }
    await close();
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

  async "no accessibility fault in either theme, and no motion where none is wanted"() {
    const { page, close } = await open("listen.html", { reducedMotion: "reduce" });
    for (const colorScheme of ["light", "dark"]) {
      await page.emulateMedia({ colorScheme });
      await accessible(page, colorScheme);
      assert.equal(await page.evaluate(() => getComputedStyle(document.querySelector(".ring"), "::after").transitionDuration), "0s");
    }
    await close();
  },

  async "it fits a desk and phones in either theme"() {
    for (const width of [1280, 390, 320]) {
      const { page, close } = await open("listen.html", { viewport: { width, height: 844 } });
      for (const colorScheme of ["light", "dark"]) {
        await page.emulateMedia({ colorScheme });
        await fits(page, width);
        await picture(page, folder, `listen-${width}-${colorScheme}`);
      }
      await close();
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
      await picture(page, folder, `long-names-${width}`);
      await close();
    }
  },
});
