// What a guitar that was soldered is heard as in its throws, played by the program's own strings, as recordings of it.

import { execFileSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { pcm16 } from "./sounds.js";

export const RATE = 44100;

/** A pickup whose switch has series in its first throw and parallel in its third, as a guitar's file has them. */
export const SWITCHED = `[[pickup]]
name = "bridge"
like = "vintage-full-size"
[[switch]]
name = "mode"
on = "bridge"
table = "on-on"
joints = [["a+", "hot", "L3"], ["a-", "L1", "R2"], ["b+", "L2"], ["b-", "ground", "R3"]]
`;

/** Usual knobs, as a guitar's file has them. */
export const KNOBS = `[controls]
volume = { pot = "500k" }
tone = { pot = "500k", capacitor = "22n" }
`;

/** A guitar with that switch. */
export const BENCH = `format = 1 # mine
name = "Bench"
${SWITCHED}${KNOBS}`;

const program = (...line) => execFileSync(process.env.DRYWIRE, line, { stdio: ["ignore", "pipe", "ignore"] });

/**
 * Returns the samples of 16 bits that a phrase is heard as in the first throw and in the third of the guitar of a file; `more` says how
 * it is plucked. What is made on the way lies in a folder under a number.
 */
export function heardThrough(folder, guitar, number, phrase, ...more) {
  const [source, set] = [join(folder, `source-${number}.wav`), join(folder, `set-${number}`)];
  program("pluck", "--notes", phrase, "--channels", "coils", "--guitar", guitar, "--rate", String(RATE), "--seed", String(number), "--peak", "-24", "--out", source, ...more);
  program("hear", source, "--source-channels", "coils", "--guitar", guitar, "--arrangements", "mode:1,mode:3", "--bits", "16", "--no-page", "--out", set);
  return Object.fromEntries(["mode:1", "mode:3"].map((mode) => {
    const bytes = readFileSync(join(set, "as-is", `${mode.replace(":", "-")}.wav`));
    const data = bytes.indexOf("data") + 8;
    return [mode, new Int16Array(bytes.buffer.slice(bytes.byteOffset + data, bytes.byteOffset + data + 2 * Math.floor((bytes.length - data) / 2)))];
  }));
}

/** Writes samples as a recording of one channel, and returns its path. */
export function recordedAs(path, samples) {
  writeFileSync(path, pcm16(RATE, 1, samples));
  return path;
}
