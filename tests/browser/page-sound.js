// Listens to the page that plays: what is heard while knobs turn and voices are switched, how high it peaks, and that the
// cards tell it.

import assert from "node:assert/strict";
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { choose, folder, open, plays, settled, tried } from "./driven.js";
import { wave } from "./sounds.js";

await tried({
  async "a volume knob turned while it plays at matched levels makes neither burst nor click"() {
    const { page, close } = await open("listen.html", {}, "#check");
    const told = await page.evaluate(async () => {
      const { mixer, settled } = globalThis.bench;
      await settled();
      const { rate } = mixer.sound;
      const { context, player } = globalThis.offline(1, 1);
      mixer.player = player;
      mixer.player.play(0);
      for (const [time, volume] of [[0.4, 2], [0.405, 1], [0.6, 10]]) {
        context.suspend(time).then(async () => {
          mixer.turn({ ...mixer.turned, volume });
          while (mixer.now[mixer.chosen].at !== mixer.turned) await new Promise((resume) => setTimeout(resume));
          return context.resume();
        });
      }
      const heard = (await context.startRendering()).getChannelData(0);
      mixer.player = null;
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
    await settled(page);
    const highest = await page.evaluate(async () => {
      const { mixer } = globalThis.bench;
      const peaks = await Promise.all(mixer.now.map(async (_, i) => {
        const planes = await globalThis.alone(i);
        return mixer.currentGains()[i] * Math.max(...planes.map((p) => p.reduce((m, x) => Math.max(m, Math.abs(x)), 0)));
      }));
      return Math.max(...peaks);
    });
    assert.ok(highest <= 10 ** (-1 / 20), String(highest));
    assert.ok(highest > 0.8, `the guard holds back no more than it must: ${highest}`);
    await close();
  },

  async "a minute of own stereo sound goes through the same arrangements and switches without a gap"() {
    const { page, close } = await open("listen.html", {}, "#check");
    await page.keyboard.press("Space");
    // So large a file is chosen where it lies: handing it over would take longer than all else here.
    const minute = join(folder, "<b>minute.wav");
    writeFileSync(minute, wave(48000, 2, 60));
    await page.locator("#file").setInputFiles(minute);
    await plays(page, "<b>minute.wav");
    assert.equal(await page.locator("#length").textContent(), " / 60.0 s");
    const told = await page.evaluate(async () => {
      const { mixer, settled } = globalThis.bench;
      await settled();
      const { sound } = mixer;
      mixer.choose(0);
      const { context, player } = globalThis.offline(2, 60);
      player.loops = false;
      player.play(0);
      const order = Array.from({ length: 59 }, (_, i) => [1, 5, 0][i % 3]);
      order.forEach((voice, i) => context.suspend(i + 1).then(() => {
        player.choose(voice);
        return context.resume();
      }));
      const mixed = await context.startRendering();
      const gains = mixer.currentGains();
      const alone = {};
      for (const i of [0, 1, 5]) alone[i] = await globalThis.alone(i);
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

  async "switches that come faster than a fade never sound together"() {
    const { page, close } = await open("listen.html", {}, "#check");
    const told = await page.evaluate(async () => {
      const { mixer, settled } = globalThis.bench;
      await settled();
      const { rate } = mixer.sound;
      const { context, player } = globalThis.offline(1, 1);
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
      const { mixer, settled } = globalThis.bench;
      await settled();
      const { sound } = mixer;
      const { context, player } = globalThis.offline(1, 2);
      Object.assign(player, { loops: false, most: 1 });
      player.ration();
      const fed = () => player.strands.map((strand) => strand.isFed);
      const seen = [fed()];
      player.play(0);
      context.suspend(0.5).then(() => {
        player.choose(3);
        seen.push(fed());
        return context.resume();
      });
      const heard = (await context.startRendering()).getChannelData(0);
      const [alone] = await globalThis.alone(3);
      const gain = mixer.currentGains()[3];
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

  async "what cannot be matched stays at its true level, as in the files"() {
    const { page, close } = await open("listen.html", {}, "#check");
    const told = await page.evaluate(async () => {
      const { mixer, settled } = globalThis.bench;
      const gains = async (volume) => {
        mixer.turn({ ...mixer.turned, volume });
        await settled();
        return mixer.now.map((_, i) => [mixer.matchedGain(i), mixer.trueGain(i), Math.sqrt(mixer.now[i].home.loud / mixer.now[i].levels.loud)]);
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
      const { mixer, settled } = globalThis.bench;
      await settled();
      const { supplier } = mixer;
      const voice = supplier.voice.bind(supplier);
      supplier.voice = (given) => (given.index === 0
        ? Promise.reject(new Error("it rings longer than 5.5 s, more than this page plays")) : voice(given));
      const { kernels } = mixer.now[0];
      mixer.turn({ ...mixer.turned, tone: 3 });
      await settled();
      return { kept: mixer.now[0].kernels === kernels, others: mixer.ready };
    });
    assert.deepEqual(told, { kept: true, others: 5 });
    assert.equal(await page.locator("#trouble").textContent(),
      "With the controls so, both coils in series cannot be played: it rings longer than 5.5 s, more than this page plays. It sounds as it did before.");
    assert.equal(await page.locator(".arrangement.waiting").count(), 6, "what is told against it waits");
    await close();
  },

  async "cards, curves and axis follow the knobs, and what does not says so"() {
    const { page, close } = await open("listen.html", {}, "#check");
    await settled(page);
    const shown = async () => ({
      figures: await page.locator(".told .figure").allTextContents(), answers: await page.locator(".told .answer").allTextContents(),
      axis: await page.locator(".axis").allTextContents(), notice: await page.locator(".figures-hold").isVisible(),
    });
    const before = await shown();
    assert.equal(before.figures[1], "−6.0 LU");
    assert.equal(before.notice, false);
    await page.getByRole("slider", { name: "Tone" }).focus();
    await page.keyboard.press("Home");
    await page.getByRole("slider", { name: "Volume" }).focus();
    for (let i = 0; i < 5; i++) await page.keyboard.press("PageDown");
    await settled(page);
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
      const { now, set } = globalThis.bench.mixer;
      const change = (of, i) => 10 * Math.log10(now[i][of].loud / now[set.baseline][of].loud);
      return set.voices.map((voice, i) => voice.loudness_lu + change("levels", i) - change("home", i));
    });
    turned.figures.forEach((figure, i) => {
      if (i > 0) assert.ok(Math.abs(Number(figure.slice(2, -3).replace("−", "-")) - wanted[i]) < 0.051, `${figure} for ${wanted[i]}`);
    });
    await page.getByRole("button", { name: "Back to the guitar file's positions" }).click();
    await settled(page);
    assert.deepEqual(await shown(), before);
    await close();
  },

  async "cards follow a sound of one's own"() {
    const { page, close } = await open("listen.html", {}, "#check");
    await choose(page, "own.wav", wave(48000, 1, 3));
    await plays(page, "own.wav");
    await settled(page);
    assert.ok(await page.locator(".figures-hold").isVisible());
    const told = await page.evaluate(async () => {
      const { mixer } = globalThis.bench;
      const energies = [];
      for (const index of [0, 1]) {
        const [plane] = await globalThis.alone(index);
        energies.push(plane.reduce((sum, x) => sum + x * x, 0));
      }
      return { rms: 10 * Math.log10(energies[1] / energies[0]), plain: 10 * Math.log10(mixer.now[1].levels.plain / mixer.now[0].levels.plain) };
    });
    assert.ok(Math.abs(told.rms - told.plain) < 0.1, JSON.stringify(told));
    assert.match(await page.locator(".told .figure").nth(1).textContent(), /^≈ −\d\.\d LU$/);
    await page.locator("#own-back").click();
    await page.waitForFunction(() => document.querySelector(".told .figure:nth-of-type(4), .told .figure") && document.querySelectorAll(".told .figure")[1].textContent === "−6.0 LU");
    assert.ok(await page.locator(".figures-hold").isHidden());
    await close();
  },
});
