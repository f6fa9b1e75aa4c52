// The page's scripts share one scope and export nothing: a test takes from them what it is about.

import { readFileSync } from "node:fs";

const folder = new URL("../../../src/page/script/", import.meta.url);

/**
 * Returns what `scripts`, in the order in which the page has them, call by the names in `wanted`; `given` has what they
 * want of a browser.
 */
export function scope(scripts, wanted, given = {}) {
  const text = scripts.map((name) => readFileSync(new URL(name, folder), "utf8")).join("\n");
  return new Function(...Object.keys(given), `"use strict";\n${text}\nreturn { ${wanted.join(", ")} };`)(...Object.values(given));
}

/** Returns evenly spread numbers from −1 to 1 that are the same every time. */
export function noise(length, seed = 1) {
  let state = seed >>> 0;
  return Float64Array.from({ length }, () => {
    // G. Marsaglia, "Xorshift RNGs", Journal of Statistical Software 8(14), 2003.
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    state >>>= 0;
    return state / 2 ** 31 - 1;
  });
}

/** Returns noise with most of its power below 2 kHz, as an instrument's is: a shelf and a high pass change it. */
export function dull(length, seed) {
  let held = 0;
  return noise(length, seed).map((x) => (held = 0.9 * held + 0.1 * x));
}

/** Returns the response of `taps`, the first at time −`before`, at `frequency` of `rate`: [re, im]. */
export function responseOf(taps, before, frequency, rate) {
  let [re, im] = [0, 0];
  taps.forEach((tap, n) => {
    const turn = -2 * Math.PI * frequency * (n - before) / rate;
    re += tap * Math.cos(turn);
    im += tap * Math.sin(turn);
  });
  return [re, im];
}

/** Returns the level of `ours` against `theirs` in decibels and the angle between them in degrees. */
export function apart([or, oi], [tr, ti]) {
  const angle = (Math.atan2(oi, or) - Math.atan2(ti, tr)) * 180 / Math.PI;
  return { decibels: 20 * Math.log10(Math.hypot(or, oi) / Math.hypot(tr, ti)), degrees: (angle + 540) % 360 - 180 };
}

/** Returns a over b of complex numbers. */
export function over([ar, ai], [br, bi]) {
  const power = br * br + bi * bi;
  return [(ar * br + ai * bi) / power, (ai * br - ar * bi) / power];
}
