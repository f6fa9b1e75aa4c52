// Hears the page that plays behind the amplifier: what is heard while settings, voices and knobs are changed, and that the cards
// tell it beside what it is at the jack.

import assert from "node:assert/strict";
import { open, settled, tried } from "./driven.js";

/** Chooses how hard the amplifier is driven, by a player's words. */
const driven = (page, words) => page.getByRole("radio", { name: words }).check({ force: true });

await tried({
  async "settings and voices are switched while it plays without a gap or a click"() {
    const { page, close } = await open("listen.html", {}, "#check");
    const told = await page.evaluate(async () => {
      const { mixer, settled } = globalThis.bench;
      await settled();
      const { rate, lead, before } = mixer.sound;
      [globalThis.first] = await globalThis.alone(0);
      const { context, player } = globalThis.offline(1, 5);
      player.loops = false;
      mixer.player = player;
      const until = async (holds) => { while (!holds()) await new Promise((resume) => setTimeout(resume, 5)); };
      const had = () => player.reel;
      const tape = () => mixer.behind.tape(mixer.chosen);
      const others = (old) => () => had() !== old;
      /** What is heard from when on: nothing for the jack, else a tape and its gain. */
      const heard = [{ from: 0, tape: null, gain: mixer.currentGains()[0] }];
      const seen = {};
      const at = (seconds, change) => context.suspend(seconds).then(async () => {
        await change();
        return context.resume();
      });
      const tell = () => heard.push({ from: context.currentTime, tape: had() && tape(), gain: had() ? mixer.behind.gains()[mixer.chosen] : mixer.currentGains()[mixer.chosen] });
      player.play(0);
      at(0.3, async () => { mixer.amplify(1); await settled(); tell(); });
      at(0.8, async () => { mixer.amplify(3); await settled(); tell(); });
      // A knob is heard before all that it changes is worked out.
      at(1.3, async () => { const old = had(); mixer.turn({ ...mixer.turned, volume: 6 }); await until(others(old)); seen.partial = !tape().isWhole; tell(); });
      at(1.4, async () => { await settled(); tell(); });
      at(1.9, async () => { mixer.choose(1); tell(); });
      at(2.3, async () => { mixer.amplify(null); tell(); });
      const mixed = (await context.startRendering()).getChannelData(0);
      mixer.player = null;
      const [first, last] = [globalThis.first, (await globalThis.alone(1))[0]];
      let [off, step, own, quiet] = [0, 0, 0, Infinity];
      heard.forEach(({ from, tape, gain }, i) => {
        const end = Math.min(heard[i + 1]?.from ?? 2.8, 2.8) * rate;
        const plane = tape ? tape.planes[0].subarray(lead) : i > 0 ? last : first;
        const sample = (n) => gain * (plane[n - before] ?? 0);
        for (let n = Math.round(from * rate); n < end; n++) {
          // What was worked out first of the knob is heard by a gain that is foreseen.
          if (i !== 3 && n > before + 200 && n > (from + 0.03) * rate) off = Math.max(off, Math.abs(mixed[n] - sample(n)));
          step = Math.max(step, Math.abs(mixed[n] - mixed[n - 1] || 0));
          own = Math.max(own, Math.abs(sample(n) - sample(n - 1)));
        }
      });
      for (let n = Math.round(0.1 * rate); n < 2.5 * rate; n += 480) quiet = Math.min(quiet, mixed.subarray(n, n + 480).reduce((m, x) => Math.max(m, Math.abs(x)), 0));
      return { off, step, own, quiet, seen, heard: heard.length };
    });
    // What is played soon after a knob is as if the couplings had been at rest a while before.
    assert.ok(told.off < 5e-5, `outside the fades it is the voice: ${JSON.stringify(told)}`);
    assert.ok(told.step <= 1.05 * told.own, `no step larger than the programme's: ${JSON.stringify(told)}`);
    assert.ok(told.quiet > 1e-3, `no gap: ${JSON.stringify(told)}`);
    assert.ok(told.seen.partial, "it was begun before it was whole");
    await close();
  },

  async "a loop goes on behind the amplifier as it does at the jack, also before it is whole"() {
    const { page, close } = await open("listen.html", {}, "#check");
    const told = await page.evaluate(async () => {
      const { mixer, settled } = globalThis.bench;
      mixer.amplify(2);
      await settled();
      const { lead, before } = mixer.sound;
      const whole = mixer.behind.tape(0);
      const heard = async (tape) => {
        const { context, player } = globalThis.offline(1, 2);
        player.region = [9600, 33600];
        player.play(9600);
        player.hearBehind(tape, 1);
        return (await context.startRendering()).getChannelData(0);
      };
      // The same tape as if its end were not there yet: all that is played is pieces.
      const parts = Object.create(whole, { isWhole: { value: false }, until: { value: (frame) => Math.min(lead + 40000, Math.floor((frame - lead) / 4800 + 1) * 4800 + lead) } });
      const [one, other] = [await heard(whole), await heard(parts)];
      let [apart, wrong] = [0, 0];
      for (let n = 600 + before; n < one.length; n++) apart = Math.max(apart, Math.abs(one[n] - other[n]));
      for (let n = 48000; n < 70000; n++) {
        const frame = 9600 + (n - before) % 24000;
        if (frame < 33600 - 400) wrong = Math.max(wrong, Math.abs(one[n] - whole.planes[0][lead + frame]));
      }
      return { apart, wrong };
    });
    assert.ok(told.apart < 1e-6 && told.wrong < 1e-6, JSON.stringify(told));
    await close();
  },

  async "cards tell jack and loudspeaker side by side, in words first, and a set made with an amplifier begins with it"() {
    const { page, close } = await open("amplified.html", {}, "#check");
    assert.equal(await page.getByRole("radio", { name: /most of the time/ }).isChecked(), true);
    await settled(page);
    const told = async () => ({ answer: await page.locator(".told .answer").nth(1).textContent(), figure: await page.locator(".told .figure").nth(1).textContent() });
    const filed = await told();
    assert.match(filed.answer, /^at the jack a little brighter; at the loudspeaker a little darker$/);
    assert.match(filed.figure, /^−\d\.\d LU at the jack · −\d\.\d LU at the loudspeaker$/);
    // Worked out in the page, they are what the files were measured at, but for a listener's loudness in sones.
    const worked = await page.evaluate(() => {
      const { behind } = globalThis.bench.mixer;
      return { loudness: behind.told(1).loudness, filed: globalThis.bench.mixer.set.voices[1].behind.loudness_lu, gains: behind.gains().map((gain) => 20 * Math.log10(gain)),
        files: globalThis.bench.mixer.set.voices.map((voice) => voice.behind.matched_db) };
    });
    assert.ok(Math.abs(worked.loudness - worked.filed) < 0.05, JSON.stringify(worked));
    worked.gains.forEach((gain, i) => assert.ok(Math.abs(gain - worked.files[i]) < 1e-9, JSON.stringify(worked)));
    await driven(page, /always/);
    await settled(page);
    const hard = await told();
    assert.match(hard.figure, /^−\d\.\d LU at the jack · ≈ −\d\.\d LU at the loudspeaker$/);
    const drop = (figure) => Number(figure.match(/([−\d.]+) LU at the loudspeaker/)[1].replace("−", "-"));
    assert.ok(drop(hard.figure) > drop(filed.figure), `less of it is left: ${hard.figure}`);
    await driven(page, /not heard/);
    await settled(page);
    assert.match((await told()).figure, /^−\d\.\d LU$/);
    assert.doesNotMatch((await told()).answer, /loudspeaker/);
    await close();
  },

  async "voices are equally loud behind the amplifier, at a setting that no file has and with the knobs turned, and drive follows the knob"() {
    const { page, close } = await open("listen.html", {}, "#check");
    const told = await page.evaluate(async () => {
      const { mixer, settled } = globalThis.bench;
      const { loudnessOf } = globalThis.bench;
      const levels = (i) => loudnessOf(mixer.behind.tape(i).loud, 20 * Math.log10(mixer.behind.gains()[i]));
      mixer.amplify(2);
      await settled();
      const matched = mixer.now.map((_, i) => levels(i));
      mixer.setMatched(false);
      // At its true level the baseline is as loud as it is at the jack.
      const truly = [levels(0), loudnessOf(mixer.behind.jack.loud, 20 * Math.log10(mixer.trueGain(0)))];
      const peak = Math.max(...mixer.now.map((_, i) => mixer.behind.gains()[i] * mixer.behind.tape(i).peak));
      mixer.setMatched(true);
      const loud = mixer.behind.tape(0).peak;
      mixer.turn({ ...mixer.turned, volume: 4 });
      await settled();
      return { matched, truly, peak, turned: mixer.now.map((_, i) => levels(i)), down: mixer.behind.tape(0).peak / loud, linear: mixer.now[0].levels.plain / mixer.now[0].home.plain };
    });
    const spread = (all) => Math.max(...all) - Math.min(...all);
    assert.ok(spread(told.matched) < 0.05, JSON.stringify(told));
    assert.ok(spread([...told.turned, told.matched[0]]) < 0.05, JSON.stringify(told));
    assert.ok(Math.abs(told.truly[0] - told.truly[1]) < 0.05 && told.peak <= 10 ** (-1 / 20), JSON.stringify(told));
    assert.ok(told.down > 2 * Math.sqrt(told.linear), `a knob turned down drives it less, and takes less of the level: ${JSON.stringify(told)}`);
    await close();
  },

  async "without a worker the page itself amplifies, a piece at a time"() {
    const { page, close } = await open("amplified.html", { without: "Worker" }, "#check");
    await settled(page);
    assert.ok(await page.evaluate(() => globalThis.bench.mixer.supplier.local !== null && globalThis.bench.mixer.behind.tape(1).isWhole));
    await close();
  },

  async "the setting is chosen by the keyboard, and locked while a comparison runs"() {
    const { page, close } = await open("amplified.html", {}, "#check");
    await page.locator("#amplifier input:checked").focus();
    await page.keyboard.press("ArrowRight");
    assert.equal(await page.evaluate(() => globalThis.bench.mixer.behind.setting), 3);
    await settled(page);
    await page.locator("#blind-start").click();
    await page.waitForSelector("body.blind");
    assert.ok(await page.evaluate(() => [...document.querySelectorAll("#amplifier input")].every((input) => input.disabled)));
    assert.ok(await page.evaluate(() => globalThis.bench.mixer.player.reel !== null), "what is compared is heard behind the amplifier");
    await close();
  },
});
