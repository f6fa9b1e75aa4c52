// The engine: what takes long, worked out in a thread of its own, so that the page answers at once while it goes on. It
// runs in a worker made of this very script, or in the page itself where a browser allows none.

/** How many voices behind the amplifier are kept ready to go on. */
const MOST_AMPLIFIED = 4;

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
    /** @type {Amplifier | null} */
    this.amplifier = null;
    /** The voices behind the amplifier that were asked for last, by what they are. @type {Map<string, AmplifiedVoice>} */
    this.amplified = new Map();
  }

  /**
   * Takes a sound under the number `key`, and begins to weigh it.
   *
   * @param {{ key: number, planes: Float32Array[], rate: number, coils: number }} given
   */
  take({ key, planes, rate, coils }) {
    /** @type {Weighed} */
    const sound = { planes, rate, coils, power: null, home: [], weighing: Promise.resolve() };
    this.sounds.set(key, sound);
    sound.weighing = powerOf(planes, rate, coils, () => !this.sounds.has(key)).then((power) => { sound.power = power; });
  }

  /** @param {{ key: number }} given */
  drop({ key }) {
    this.sounds.delete(key);
    this.amplified.clear();
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
    const sound = this.sound(key);
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
   * Returns what is measured of a voice at the jack over the `frames` frames that are played, from `lead` on.
   *
   * @param {{ key: number, index: number, turned: Turned, lead: number, frames: number }} given
   */
  async jack({ key, index, turned, lead, frames }) {
    const sound = this.sound(key);
    return (await this.atJack(sound, index, turned)).measured(sound.rate, lead, frames);
  }

  /**
   * Returns the `count` frames of a voice behind the amplifier from `from` on, `gain` being the gain before its stages.
   *
   * @param {{ key: number, index: number, turned: Turned, gain: number, from: number, count: number, begin: number }} given
   * @returns {Promise<Piece>}
   */
  async piece({ key, index, turned, gain, from, count, begin }) {
    const sound = this.sound(key);
    const name = JSON.stringify([key, index, turned, gain]);
    const { amplifier: data } = this.set;
    if (!data) throw new Error("there is no amplifier");
    this.amplifier ??= new Amplifier(data);
    const own = this.amplified.get(name) ?? new AmplifiedVoice(this.amplifier, await this.atJack(sound, index, turned), sound.rate, gain);
    this.amplified.delete(name);
    this.amplified.set(name, own);
    if (this.amplified.size > MOST_AMPLIFIED) this.amplified.delete(this.amplified.keys().next().value ?? "");
    return own.piece(from, count, begin);
  }

  /**
   * Returns the middle of a sound's spectrum in hertz.
   *
   * @param {{ planes: Float32Array[], rate: number }} given
   */
  async centroid({ planes, rate }) {
    const power = await powerOf(planes, rate, 0, () => false);
    const same = Float64Array.from({ length: 2 * power.loud.length }, (_, i) => 1 - i % 2);
    return levelsOf([same], power).centroid;
  }

  /** @param {number} key */
  sound(key) {
    const sound = this.sounds.get(key);
    if (!sound) throw new Error("its sound is gone");
    return sound;
  }

  /**
   * @param {Weighed} sound
   * @param {number} index
   * @param {Turned} turned
   */
  async atJack(sound, index, turned) {
    const { kernels } = await this.voiceAt(sound.coils, index).made(sound.rate, turned);
    return new AtJack(sound, kernels, this.set.voices[index].section);
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
