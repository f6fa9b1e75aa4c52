// @ts-check
// Strums counted as they are played: a strum is where treble rises at once. What counts in the end is what the program finds.

/** How long what is heard now is averaged, and what was before it, in seconds: from and to. */
const NOW = 0.02;
const BEFORE = [0.04, 0.12];
/** A strum's power is so many times what was before it. */
const LOUDER = 4;
/** Softer than this share of the loudest strum's power is a touch, softer than this power is noise. */
const TOUCH = 0.01;
const NOISE = 1e-9;
/** So long after it began a strum still sounds, and a switch's click does not, in seconds; by so much of what makes a strum. */
const SOUNDS_ON = 0.08;
const STILL = 0.5;
/** The least time between two strums in seconds; one over six strings lasts 20 to 100 ms. */
const APART = 0.22;

/** Counts strums in what comes in, block by block. */
export class Strums {
  /** @param {number} rate */
  constructor(rate) {
    this.rate = rate;
    /** How many there were. */
    this.count = 0;
    /** The powers of the last blocks, the newest last, and how long each lasts. @type {{ power: number, frames: number }[]} */
    this.blocks = [];
    this.last = 0;
    /** Frames since the last strum began. */
    this.since = Infinity;
    /** What a strum that has begun must still be louder than, to be one. @type {number | null} */
    this.pending = null;
    this.loudest = 0;
  }

  /**
   * Takes in what came next, and returns whether it makes one strum more.
   *
   * @param {Float32Array} samples
   */
  push(samples) {
    let sum = 0;
    for (const sample of samples) {
      // Differences have six decibels an octave more in the treble, which falls off first and rises with the pick.
      sum += (sample - this.last) ** 2;
      this.last = sample;
    }
    this.blocks.push({ power: sum / samples.length, frames: samples.length });
    this.since += samples.length;
    const seconds = (/** @type {number} */ frames) => frames / this.rate;
    const [now, before] = [[0, NOW], BEFORE].map(([from, to]) => {
      let [power, frames, age] = [0, 0, 0];
      for (const block of [...this.blocks].reverse()) {
        if (seconds(age) >= to) break;
        if (seconds(age) >= from) [power, frames] = [power + block.power * block.frames, frames + block.frames];
        age += block.frames;
      }
      return frames > 0 ? power / frames : 0;
    });
    while (seconds(this.blocks.reduce((all, { frames }) => all + frames, 0)) > 2 * BEFORE[1]) this.blocks.shift();
    if (this.pending !== null) {
      if (seconds(this.since) < SOUNDS_ON) return false;
      const isStrum = now > this.pending;
      this.pending = null;
      if (!isStrum) {
        this.since = Infinity;
        return false;
      }
      this.loudest = Math.max(this.loudest, now);
      this.count += 1;
      return true;
    }
    if (seconds(this.since) >= APART && now > NOISE && now > LOUDER * before && now > TOUCH * this.loudest) {
      this.pending = STILL * LOUDER * Math.max(before, NOISE / LOUDER);
      this.since = 0;
    }
    return false;
  }
}
