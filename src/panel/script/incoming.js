// @ts-check
// What comes in while it is recorded, sent to the program piece by piece, each once the one before is answered; the answer is what all
// of it has come to so far. Nothing of it is kept there: the recording is sent once it has ended.

import { posted } from "./asked.js";

/** The most bytes of a piece. */
const MOST = 2 ** 23;

export class Incoming {
  /**
   * @param {number} rate
   * @param {Record<string, string>} more What else the program is told.
   */
  constructor(rate, more = {}) {
    this.about = { rate: String(rate), run: crypto.randomUUID(), ...more };
    /** What was heard and not sent yet. @type {Float32Array[][]} */
    this.blocks = [];
    /** How many frames were sent. */
    this.from = 0;
    this.channels = 0;
    /** Whether a piece is on its way, or no more are sent. */
    this.isBusy = false;
    this.sentAt = -Infinity;
    this.isOver = false;
    /** How long the last answer took, in milliseconds. */
    this.took = 0;
  }

  /** @param {Float32Array[][]} blocks */
  hear(blocks) {
    this.blocks.push(...blocks);
  }

  /** Shows no answer any more. */
  end() {
    this.isOver = true;
  }

  /**
   * Sends what came in and puts the answer into the page; not oftener than so many milliseconds, nor so that it would keep the machine
   * from recording, nor while a piece is on its way, nor after one was refused.
   *
   * @param {number} every
   */
  async send(every) {
    if (this.isBusy || this.blocks.length === 0 || performance.now() - this.sentAt < Math.max(every, 3 * this.took)) return;
    this.isBusy = true;
    this.sentAt = performance.now();
    this.channels ||= this.blocks[0].length;
    const blocks = this.blocks.splice(0, Math.floor(MOST / (4 * this.channels * this.blocks[0][0].length)));
    const frames = blocks.reduce((sum, [plane]) => sum + plane.length, 0);
    const samples = new Float32Array(this.channels * frames);
    let at = 0;
    for (let channel = 0; channel < this.channels; channel += 1) {
      for (const block of blocks) {
        samples.set(block[channel] ?? block[0], at);
        at += block[0].length;
      }
    }
    const asked = posted("heard", samples, { ...this.about, channels: String(this.channels), from: String(this.from) });
    const answer = await asked.catch((error) => {
      if (!this.isOver) throw error;
      return "";
    });
    if (this.isOver) return;
    shown(answer);
    this.took = performance.now() - this.sentAt;
    this.from += frames;
    this.isBusy = false;
  }
}

/**
 * Puts what an answer has into the elements of these names.
 *
 * @param {string} answer
 */
function shown(answer) {
  for (const part of new DOMParser().parseFromString(answer, "text/html").querySelectorAll("[id]")) {
    const own = document.getElementById(part.id);
    // What is said is not said again.
    if (own && own.innerHTML !== part.innerHTML) own.replaceChildren(...part.childNodes);
  }
}
