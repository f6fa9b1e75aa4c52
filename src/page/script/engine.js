// The engine: what takes long, worked out in a thread of its own, so that the page answers at once while it goes on. It
// runs in a worker made of this very script, or in the page itself where a browser allows none.

class Engine {
  constructor(set) {
    this.set = set;
    this.through = throughOf(set);
    /** The voices for sources with that many coils told apart; their tables are kept for all sounds. */
    this.banks = new Map();
    this.sounds = new Map();
  }

  /** Takes a sound, {planes, rate, coils}, under the number `key`, and begins to weigh it. */
  take({ key, planes, rate, coils }) {
    const sound = { rate, coils, power: null, home: [] };
    this.sounds.set(key, sound);
    sound.weighing = powerOf(planes, rate, coils, () => !this.sounds.has(key)).then((power) => { sound.power = power; });
  }

  drop({ key }) {
    this.sounds.delete(key);
  }

  /** Waits until the power of a sound is known, and with it levels. */
  async weighed({ key }) {
    await this.sounds.get(key)?.weighing;
  }

  /**
   * Returns what a voice is with the knobs at `turned`: its kernels, how far they reach, and, once the sound is weighed,
   * its levels there and where the guitar's file has the knobs.
   */
  voice({ key, index, turned }) {
    const sound = this.sounds.get(key);
    const voice = this.voiceAt(sound.coils, index);
    const { kernels, spectra } = voice.made(sound.rate, turned);
    const feeds = kernels.feeds.map((taps) => Float32Array.from(taps));
    const made = { kernels: { feeds, before: kernels.before }, reach: reach(kernels), levels: null, home: null };
    if (!sound.power) return made;
    sound.home[index] ??= levelsOf(voice.made(sound.rate, homeOf(this.set)).spectra, sound.power);
    return { ...made, levels: levelsOf(spectra, sound.power), home: sound.home[index] };
  }

  /** Returns the magnitudes of voices along `CURVE` with the knobs at `turned`. */
  curves({ indices, turned }) {
    const { coils } = this.set.sound;
    return indices.map((index) => Float64Array.from(this.voiceAt(coils, index).curve(turned)));
  }

  voiceAt(coils, index) {
    if (!this.banks.has(coils)) this.banks.set(coils, []);
    const bank = this.banks.get(coils);
    bank[index] ??= voiceOf(this.set, this.set.voices[index], this.through, coils);
    return bank[index];
  }
}

/** Answers what the page asks by messages {id, what, given}: {id, answer}, or {id, refused}, the reason in words. */
function serve(scope) {
  let engine = null;
  scope.addEventListener("message", async ({ data: { id, what, given } }) => {
    try {
      if (what === "begin") engine = new Engine(given);
      const answer = what === "begin" ? null : await engine[what](given);
      scope.postMessage({ id, answer });
    } catch (error) {
      scope.postMessage({ id, refused: error.message });
    }
  });
}
