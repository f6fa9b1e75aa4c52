// @ts-check
// What is heard behind the amplifier: the program works it out part by part, from where it plays on, and the worklet has it as it comes.

import { floats } from "./asked.js";

/** The parts of a second that are there or not. */
const HOPS = 10;
/** How much is asked for at first, and at most at once, in hops. */
const FIRST = 5;
const MOST = 80;

/** @typedef {{ rate: number, lead: number, frames: number }} Played */
/** @typedef {{ id: string, state: string, known: Uint8Array, completing: Promise<void> | null }} Reel */
/**
 * @typedef {{
 *   ask: (what: string, more: Record<string, string>) => Promise<Response>, is: (state: string) => boolean,
 *   send: (message: object) => void, place: () => number, isPlaying: () => boolean,
 * }} Hooks
 */

export class Reels {
  /** @param {Hooks} hooks */
  constructor(hooks) {
    this.hooks = hooks;
    /** The reel of each voice, of the state that was wanted last. @type {Map<string, Reel>} */
    this.reels = new Map();
    /** What drives the amplifier in that state. @type {{ state: string, gain: number } | null} */
    this.drive = null;
    this.begun = 0;
    /** The reel that was begun last. @type {string | null} */
    this.last = null;
  }

  clear() {
    this.reels.clear();
  }

  /**
   * Whether a voice can be heard as it is in a state.
   *
   * @param {string} name
   * @param {string} state
   */
  has(name, state) {
    return this.reels.get(name)?.state === state;
  }

  /** @param {string} name */
  idOf(name) {
    return this.reels.get(name)?.id ?? "";
  }

  /**
   * Has so much of a voice there that it can be heard from where it plays, or from `place` on.
   *
   * @param {string} name
   * @param {string} state
   * @param {Played} sound
   * @param {number} [place]
   */
  async begin(name, state, sound, place = this.hooks.place()) {
    let reel = this.reels.get(name);
    if (reel?.state !== state) {
      this.begun += 1;
      reel = { id: `behind ${this.begun}`, state, known: new Uint8Array(Math.ceil(sound.frames / hopOf(sound))), completing: null };
    }
    const hop = Math.min(reel.known.length - 1, Math.floor(place / hopOf(sound)));
    // A loop's end is led over into what comes before its start.
    if (!reel.known[hop] || !reel.known[Math.min(reel.known.length - 1, hop + 1)]) await this.part(name, reel, sound, hop, FIRST);
    if (!this.hooks.is(state)) return;
    this.reels.set(name, reel);
    // What was heard before is still there until it has faded.
    const ids = [...this.reels.values()].filter((own) => own.state === state || own.id === this.last).map((own) => own.id);
    this.hooks.send({ keep: [...ids, this.last].filter((id) => id !== null) });
    this.last = reel.id;
  }

  /**
   * Has all of a voice there, what is played next first.
   *
   * @param {string} name
   * @param {string} state
   * @param {Played} sound
   */
  complete(name, state, sound) {
    const reel = this.reels.get(name);
    if (!reel) return Promise.resolve();
    const rest = async () => {
      let most = FIRST;
      while (this.hooks.is(state) && this.reels.get(name) === reel && reel.known.includes(0)) {
        const here = Math.floor(this.hooks.place() / hopOf(sound));
        const next = reel.known.indexOf(0, here);
        most = Math.min(MOST, 2 * most);
        await this.part(name, reel, sound, next < 0 ? reel.known.indexOf(0) : next, most);
      }
      reel.completing = null;
    };
    reel.completing ??= rest();
    return reel.completing;
  }

  /**
   * Asks for a part of a voice and hands it on.
   *
   * @param {string} name
   * @param {Reel} reel
   * @param {Played} sound
   * @param {number} hop the first
   * @param {number} most
   */
  async part(name, reel, sound, hop, most) {
    const known = reel.known.indexOf(1, hop);
    const end = Math.min(reel.known.length, hop + most, known > hop ? known : Infinity);
    // Before the first frame that is played lies what a loop's end is led over into.
    const first = hop === 0 ? -Math.min(sound.lead, hopOf(sound)) : hop * hopOf(sound);
    const count = Math.min(sound.frames, end * hopOf(sound)) - first;
    /** @type {Record<string, string>} */
    const wanted = { voice: name, first: String(first), count: String(count) };
    if (this.drive?.state === reel.state) wanted.drive = String(this.drive.gain);
    const { head, lists } = await floats(await this.hooks.ask("amplified", wanted));
    if (!this.hooks.is(reel.state)) return;
    this.drive = { state: reel.state, gain: head.drive };
    this.hooks.send({ amplified: { id: reel.id, first, planes: lists } });
    reel.known.fill(1, hop, end);
  }
}

/** @param {Played} sound */
function hopOf({ rate }) {
  return Math.floor(rate / HOPS);
}
