// The voices behind the amplifier: what is worked out of them is kept by setting, and what is to be worked out next is the most wanted
// first. How hard a setting drives is held at the baseline where the guitar's file has the knobs, so that a knob that changes a
// level changes the drive.

/** The samples of all tapes that are kept: 256 MB. */
const MOST_SAMPLES = 64e6;
/** How far ahead of what is heard the voice that is heard is worked out before anything else is, in seconds. */
const AHEAD = 1.5;

/** A tape, of what and when it was wanted last. @typedef {{ tape: Tape, setting: number, index: number, turned: Turned }} Kept */

class Behind {
  /** @param {Mixer} mixer */
  constructor(mixer) {
    this.mixer = mixer;
    const { amplifier } = mixer.set;
    this.data = amplifier;
    /** The setting that is wanted; none where the voices are heard at the jack. */
    this.setting = amplifier?.files ?? null;
    /** The tapes, those that were wanted last at the end. @type {Kept[]} */
    this.kept = [];
    /** What the baseline is at the jack where the file has the knobs, of the sound in the mixer. @type {Jack | null} */
    this.jack = null;
    /** The tape that was heard last of each voice: by it the next one's level is foreseen. @type {(Tape | null)[]} */
    this.before = [];
  }

  /** @param {number | null} setting */
  choose(setting) {
    this.setting = setting;
    this.before = [];
  }

  /** Forgets what was worked out of another sound. */
  empty() {
    this.kept = [];
    this.jack = null;
    this.before = [];
  }

  get home() {
    return this.mixer.home;
  }

  /** Whether what is heard is what the files have that are heard through an amplifier. */
  get isFiled() {
    return this.setting !== null && this.setting === this.data?.files && Boolean(this.mixer.sound?.gains);
  }

  /** Whether that is so as it stands: the knobs, too, are where the guitar's file has them. */
  get asFiled() {
    return this.isFiled && this.mixer.atHome;
  }

  /**
   * Returns the place of a voice's tape at the setting among those that are kept; below zero where there is none.
   *
   * @param {number} index
   * @param {Turned} turned
   */
  place(index, turned) {
    return this.kept.findIndex((own) => own.index === index && own.turned === turned && own.setting === this.setting);
  }

  /**
   * Returns the tape of a voice at the setting.
   *
   * @param {number} index
   * @param {Turned} turned
   */
  tape(index, turned = this.mixer.turned) {
    return this.kept[this.place(index, turned)]?.tape ?? null;
  }

  /**
   * Returns the same, begun where there is none.
   *
   * @param {number} index
   * @param {Turned} turned
   */
  wantedTape(index, turned) {
    const { setting, mixer: { sound } } = this;
    if (setting === null || !sound) return null;
    const place = this.place(index, turned);
    const [own] = place < 0 ? [{ tape: new Tape(sound), setting, index, turned }] : this.kept.splice(place, 1);
    this.kept.push(own);
    const size = (/** @type {Kept} */ { tape: { planes } }) => planes.length * planes[0].length;
    let left = MOST_SAMPLES;
    this.kept = this.kept.filter((one) => (one.turned === this.home || one.turned === this.mixer.turned));
    this.kept = this.kept.reverse().filter((one, i) => (left -= size(one)) > 0 || i < 3).reverse();
    return own.tape;
  }

  /** Whether so many voices of this sound are kept as there are. */
  get isRoomForAll() {
    const { sound, set } = this.mixer;
    return sound ? channelsOf(sound) * sound.planes[0].length * (set.voices.length + 1) < MOST_SAMPLES : false;
  }

  /** Returns the gain before the stages, once it is known how loud the baseline is. */
  drive() {
    const { data, setting, mixer: { sound } } = this;
    if (setting === null || !data || !sound) return null;
    const loudest = sound.gains ? data.loudest : this.jack?.loudest;
    return loudest ? data.clip_point * 10 ** (-data.settings[setting].headroom_db / 20) / loudest : null;
  }

  /** Whether it is known by which gains the voices are heard. */
  get hasLevels() {
    const { baseline } = this.mixer.set;
    if (this.asFiled) return true;
    return this.jack !== null && Boolean(this.tape(baseline, this.home)?.isWhole);
  }

  /**
   * Returns what is to be done before the chosen voice is heard as it is wanted; nothing where it is.
   *
   * @returns {(() => Promise<void>) | null}
   */
  urgent() {
    const { mixer } = this;
    const { chosen, turned, set } = mixer;
    if (this.setting === null || this.isSilent) return null;
    if (!this.hasLevels) return this.jack ? this.work(set.baseline, this.home, null) : () => this.listen();
    const tape = this.wantedTape(chosen, turned);
    if (!tape || tape.isWhole || mixer.now[chosen].refusedAt === turned) return null;
    const wanted = mixer.lacking(tape);
    return wanted === null ? null : this.work(chosen, turned, wanted);
  }

  /** Whether nothing comes to the amplifier. */
  get isSilent() {
    return this.jack?.loudest === 0;
  }

  /**
   * Returns what is to be done until all that is shown is known, the most wanted first; nothing where it is.
   *
   * @param {boolean} isResting
   * @returns {(() => Promise<void>) | null}
   */
  patient(isResting) {
    const { chosen, turned, set, compared, now } = this.mixer;
    if (this.setting === null || this.isSilent) return null;
    if (!this.jack) return () => this.listen();
    const all = isResting ? [chosen] : [chosen, ...compared, set.baseline, ...(this.isRoomForAll ? set.voices.keys() : [])];
    /** @type {(index: number, turned: Turned) => boolean} */
    const isDone = (index, at) => typeof this.tape(index, at)?.centroid === "number";
    const next = all.find((index) => now[index].refusedAt !== turned && !isDone(index, turned));
    if (next !== undefined) return this.work(next, turned, null);
    return isResting || isDone(set.baseline, this.home) ? null : this.work(set.baseline, this.home, null);
  }

  /** Measures the baseline at the jack. */
  async listen() {
    const { mixer } = this;
    const { key, sound, set } = mixer;
    if (key === undefined || !sound) return;
    const jack = await mixer.supplier.jack({ key, index: set.baseline, turned: this.home, lead: sound.lead, frames: sound.length });
    if (mixer.key === key) this.jack = jack;
  }

  /**
   * Returns what works out the next piece of a voice, or how bright it is.
   *
   * @param {number} index
   * @param {Turned} turned
   * @param {number | null} wanted the frame of the planes that is wanted first
   * @returns {() => Promise<void>}
   */
  work(index, turned, wanted) {
    return async () => {
      const { mixer, setting } = this;
      const { key, supplier, sound } = mixer;
      const [tape, gain] = [this.wantedTape(index, turned), this.drive()];
      if (!tape || gain === null || key === undefined || !sound) return;
      if (tape.isWhole) {
        const { lead, length, rate } = sound;
        const played = tape.planes.map((plane) => plane.slice(lead, lead + length));
        tape.centroid = await supplier.centroid({ planes: played, rate });
        mixer.hooks.changed();
        return;
      }
      const piece = tape.piece(wanted);
      try {
        tape.take(piece, await supplier.piece({ key, index, turned, gain, from: piece.from, count: piece.count, begin: piece.begin }));
      } catch (error) {
        if (mixer.key === key) mixer.refuse(index, turned, error);
        return;
      }
      if (tape.isWhole && setting === this.setting) this.before[index] = tape;
      if (mixer.key === key) mixer.worked();
    };
  }

  /**
   * Whether a voice can be heard behind the amplifier at once, where it is to be, or not at all.
   *
   * @param {number} index
   */
  isThere(index) {
    return this.setting === null || this.isSilent || this.mixer.now[index].refusedAt === this.mixer.turned
      || Boolean(this.tape(index)?.isWhole && this.hasLevels);
  }

  /** Returns each voice's gain behind the amplifier, before the listening level. */
  gains() {
    const { mixer } = this;
    const gains = mixer.now.map((_, index) => this.gain(index));
    const peaks = gains.map((gain, index) => gain * this.peakOf(index));
    const highest = Math.max(...peaks);
    const guard = this.asFiled || highest === 0 ? 1 : Math.min(1, mixer.set.ceiling / highest);
    return gains.map((gain) => gain * guard);
  }

  /** @param {number} index */
  gain(index) {
    const { mixer: { matched, set: { voices, baseline } } } = this;
    const files = this.isFiled ? voices.map(({ behind }) => behind) : [];
    /** @type {(db: number | null | undefined) => number} */
    const amplitude = (db) => 10 ** ((db ?? 0) / 20);
    if (this.asFiled && files[index]) return amplitude(matched ? files[index].matched_db : files[index].true_db);
    const base = this.tape(baseline, this.home);
    const trueDb = this.trueDb(base);
    if (!matched || !base) return amplitude(trueDb);
    const own = this.levelsOf(index);
    const wanted = this.level(base, files[baseline]?.matched_db ?? trueDb);
    const db = own && wanted !== null ? this.gainTo(own, wanted) : null;
    return db === null || amplitude(db) > this.mixer.set.most_gain ? amplitude(trueDb) : amplitude(db);
  }

  /**
   * Returns the gain in decibels of all voices at their true levels: that by which the baseline is as loud as it is at the jack.
   *
   * @param {Tape | null} base
   */
  trueDb(base) {
    const { mixer: { set: { voices, baseline } } } = this;
    const filed = this.isFiled ? voices[baseline].behind?.true_db : null;
    if (typeof filed === "number") return filed;
    if (!base || !this.jack) return 0;
    const jackDb = 20 * Math.log10(this.mixer.trueGain(baseline));
    const wanted = loudnessOf(this.jack.loud, jackDb);
    const gain = wanted === null ? null : gainTo(base.loud, wanted);
    return gain ?? powerDb(this.jack.plain) + jackDb - powerDb(base.plain);
  }

  /**
   * Returns what is known of a voice's levels, or foreseen from what was heard of it before, or from the baseline.
   *
   * @param {number} index
   */
  levelsOf(index) {
    const { mixer: { set: { baseline } } } = this;
    const tape = this.tape(index);
    if (!tape) return null;
    const other = this.before[index] ?? this.tape(baseline, this.home);
    return { plain: tape.foreseen("plain", other), loud: tape.foreseen("loud", other) };
  }

  /**
   * Returns the level of a voice under a gain in decibels, by what voices are matched by.
   *
   * @param {{ plain: Float64Array, loud: Float64Array }} levels
   * @param {number} gain
   */
  level({ plain, loud }, gain) {
    return this.data?.match_by === "rms" ? powerDb(plain) + gain : loudnessOf(loud, gain);
  }

  /**
   * Returns the gain in decibels that brings a voice to a level.
   *
   * @param {{ plain: Float64Array, loud: Float64Array }} levels
   * @param {number} level
   */
  gainTo({ plain, loud }, level) {
    return this.data?.match_by === "rms" ? level - powerDb(plain) : gainTo(loud, level);
  }

  /** @param {number} index */
  peakOf(index) {
    const tape = this.tape(index);
    if (!tape) return 0;
    return tape.isWhole ? tape.peak : Math.max(tape.peak, this.before[index]?.peak ?? 0);
  }

  /**
   * Returns what a voice is at the loudspeaker against the baseline: its loudness in LU and how bright it is; nothing while that is
   * not known.
   *
   * @param {number} index
   */
  told(index) {
    const { mixer: { set: { baseline } } } = this;
    const [own, base] = [this.tape(index), this.tape(baseline)];
    if (typeof own?.centroid !== "number" || typeof base?.centroid !== "number") return null;
    const trueDb = this.trueDb(this.tape(baseline, this.home));
    const [level, wanted] = [loudnessOf(own.loud, trueDb), loudnessOf(base.loud, trueDb)];
    return { loudness: level === null || wanted === null ? null : level - wanted, brightness: own.centroid / base.centroid };
  }
}

/**
 * Returns the level of mean squares, in decibels.
 *
 * @param {Float64Array} powers
 */
function powerDb(powers) {
  return 10 * Math.log10(powers.reduce((sum, power) => sum + power, 0) / powers.length);
}
