// The engine: what takes long, worked out in a thread of its own, so that the page answers at once while it goes on. It
// runs in a worker made of this very script, or in the page itself where a browser allows none.

class Engine {
  /** @param {SetData} set */
  constructor(set) {
    this.set = set;
    this.through = throughOf(set);
    /**
     * The voices for sources with that many coils told apart; their tables are kept for all sounds.
     *
     * @type {Map<number, Voice[]>}
     */
    this.banks = new Map();
    /** @type {Map<number, Weighed>} */
    this.sounds = new Map();
  }

  /**
   * Takes a sound under the number `key`, and begins to weigh it.
   *
   * @param {{ key: number, planes: Float32Array[], rate: number, coils: number }} given
   */
  take({ key, planes, rate, coils }) {
    /** @type {Weighed} */
    const sound = { rate, coils, power: null, home: [], weighing: Promise.resolve() };
    this.sounds.set(key, sound);
    sound.weighing = powerOf(planes, rate, coils, () => !this.sounds.has(key)).then((power) => { sound.power = power; });
  }

  /** @param {{ key: number }} given */
  drop({ key }) {
    this.sounds.delete(key);
  }

  /**
   * Waits until the power of a sound is known, and with it levels.
   *
   * @param {{ key: number }} given
   */
  async weighed({ key }) {
    await this.sounds.get(key)?.weighing;
  }

  /**
   * Returns what a voice is with the knobs at `turned`: its kernels, how far they reach, and, once the sound is weighed,
   * its levels there and where the guitar's file has the knobs.
   *
   * @param {{ key: number, index: number, turned: Turned }} given
   * @returns {Promise<Made>}
   */
  async voice({ key, index, turned }) {
    const sound = this.sounds.get(key);
    if (!sound) throw new Error("its sound is gone");
    const voice = this.voiceAt(sound.coils, index);
    const { kernels, spectra } = await voice.made(sound.rate, turned);
    const feeds = kernels.feeds.map((taps) => Float32Array.from(taps));
    /** @type {Made} */
    const made = { kernels: { feeds, before: kernels.before }, reach: reach(kernels), levels: null, home: null };
    if (!sound.power) return made;
    sound.home[index] ??= levelsOf((await voice.made(sound.rate, homeOf(this.set))).spectra, sound.power);
    return { ...made, levels: levelsOf(spectra, sound.power), home: sound.home[index] };
  }

  /**
   * Returns the magnitudes of voices along `CURVE` with the knobs at `turned`.
   *
   * @param {{ indices: number[], turned: Turned }} given
   */
  async curves({ indices, turned }) {
    const { coils } = this.set.sound;
    const curves = await Promise.all(indices.map((index) => this.voiceAt(coils, index).curve(turned)));
    return curves.map((curve) => Float64Array.from(curve));
  }

  /**
   * @param {number} coils
   * @param {number} index
   */
  voiceAt(coils, index) {
    const bank = this.banks.get(coils) ?? [];
    this.banks.set(coils, bank);
    bank[index] ??= voiceOf(this.set, this.set.voices[index], this.through, coils);
    return bank[index];
  }
}

/**
 * Answers what the page asks by messages {id, what, given}: {id, answer}, or {id, refused}, the reason in words.
 *
 * @param {{ addEventListener: (type: "message", listener: (event: MessageEvent) => void) => void, postMessage: (message: object) => void }} scope
 */
function serve(scope) {
  /** @type {Engine | null} */
  let engine = null;
  scope.addEventListener("message", async ({ data: { id, what, given } }) => {
    try {
      if (what === "begin") engine = new Engine(given);
      const answer = what === "begin" ? null : await asked(engine, what, given);
      scope.postMessage({ id, answer });
    } catch (error) {
      scope.postMessage({ id, refused: reasonOf(error) });
    }
  });
}

/**
 * Asks one of an engine's methods.
 *
 * @param {Engine | null} engine
 * @param {keyof Questions} what
 * @param {any} given
 */
function asked(engine, what, given) {
  if (!engine) throw new Error("nothing was begun");
  return engine[what](given);
}

/**
 * Returns why something failed, in words.
 *
 * @param {unknown} error
 */
function reasonOf(error) {
  return error instanceof Error ? error.message : String(error);
}
