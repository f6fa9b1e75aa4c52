// The mixer: the sound in it, the voices and their gains, and the player once somebody has pressed play. Kernels, levels
// and curves come from whatever supplies them, asked for one after the other and the most wanted first; what comes back is
// heard and shown at once.

/** How long the knobs rest before the voices that are not heard follow them. */
const PAUSE_MS = 300;
/** How many curves are asked for at once. */
const CURVES_AT_ONCE = 4;

class Mixer {
  /**
   * `hooks`: {drawn(index, magnitudes), changed(), refused(index, why), failed(error)}: a curve is there; what is known of
   * the voices has changed; a voice cannot be had with the knobs where they are; something else went wrong.
   *
   * @param {SetData} set
   * @param {Supplier} supplier
   * @param {MixerHooks} hooks
   */
  constructor(set, supplier, hooks) {
    this.set = set;
    this.supplier = supplier;
    this.hooks = hooks;
    this.home = homeOf(set);
    this.turned = this.home;
    this.chosen = set.baseline;
    /**
     * The voices that a blind comparison is about to switch between.
     *
     * @type {number[]}
     */
    this.compared = [];
    this.matched = true;
    this.level = 1;
    this.loads = 0;
    /** @type {number | undefined} */
    this.key = undefined;
    /** @type {Sound | null} */
    this.sound = null;
    this.weighed = false;
    /** @type {Known[]} */
    this.now = [];
    this.working = false;
    this.resting = 0;
    /** @type {Player | null} */
    this.player = null;
    /** @type {Fader | null} */
    this.volume = null;
    /** @type {AnalyserNode | null} */
    this.meter = null;
    /** @type {AudioContext | null} */
    this.card = null;
    this.behind = new Behind(this);
  }

  /**
   * Puts a sound into the mixer. Returns whether it is still the one that is wanted; `leave()` is called before the one that
   * was there goes.
   *
   * @param {Sound} sound
   * @param {() => void} leave
   */
  async load(sound, leave) {
    const key = ++this.loads;
    const { planes, rate, coils } = sound;
    await this.supplier.take({ key, planes, rate, coils });
    const now = this.set.voices.map(() => new Known());
    // What no file was made of has levels only once it is weighed, and its peaks are measured.
    if (!sound.gains) await this.supplier.weighed({ key });
    sound.before = shortest(rate) / BEFORE;
    for (const index of new Set([this.set.baseline, this.chosen])) {
      const { turned } = this;
      const made = await this.supplier.voice({ key, index, turned });
      this.keep(sound, index, now[index], made, turned);
      sound.before = Math.max(sound.before, made.kernels.before);
      if (!sound.gains) await this.measure(sound, index, now[index]);
      if (key !== this.loads) return this.forget(key);
    }
    leave();
    this.close();
    this.forget(this.key);
    for (const [index, known] of this.now.entries()) now[index].drawnAt = known.drawnAt;
    this.key = key;
    this.sound = sound;
    this.now = now;
    this.behind.empty();
    this.weighed = Boolean(now[this.chosen].levels);
    this.weigh(key);
    this.work();
    return true;
  }

  /** @param {number} key */
  async weigh(key) {
    await this.supplier.weighed({ key });
    if (this.key !== key) return;
    this.weighed = true;
    this.work();
  }

  /** @param {number | undefined} key */
  forget(key) {
    if (key !== undefined) this.supplier.drop({ key });
    return false;
  }

  get atHome() {
    return this.turned === this.home;
  }

  /** Whether all is as the files beside the page are: their sound, with the knobs where the guitar's file has them. */
  get asFiled() {
    return this.atHome && Boolean(this.sound?.gains);
  }

  /** Returns how many voices can be heard as the knobs stand. */
  get ready() {
    return this.now.filter((known) => known.at === this.turned).length;
  }

  /**
   * Takes the knobs to `turned`: the chosen voice at once, the others once they rest.
   *
   * @param {Turned} turned
   */
  turn(turned) {
    const { volume, tone, cable } = this.home;
    const isHome = volume === turned.volume && tone === turned.tone && cable === turned.cable;
    this.turned = isHome ? this.home : turned;
    clearTimeout(this.resting);
    this.resting = setTimeout(() => {
      this.resting = 0;
      this.work();
    }, PAUSE_MS);
    this.work();
  }

  /** Does what is to be done until nothing is. */
  async work() {
    if (this.working) return;
    this.working = true;
    try {
      for (let job = this.next(); job; job = this.next()) await job();
    } catch (error) {
      this.hooks.failed(error);
    } finally {
      this.working = false;
    }
    this.hooks.changed();
  }

  /**
   * Returns what is to be done next, the most wanted first; nothing where all is as the knobs stand.
   *
   * @returns {(() => Promise<void>) | null}
   */
  next() {
    const { sound } = this;
    if (!sound) return null;
    const { now, turned, chosen, weighed, asFiled, behind } = this;
    const urgent = behind.urgent();
    if (urgent) return urgent;
    const all = [...now.keys()];
    /** @type {(index: number) => boolean} */
    const wants = (index) => {
      const { at, refusedAt, levels } = now[index];
      return refusedAt !== turned && (at !== turned || (weighed && !levels && !asFiled));
    };
    const undrawn = all.filter((index) => now[index].drawnAt !== turned);
    if (wants(chosen)) return () => this.refresh(sound, chosen);
    if (undrawn.includes(chosen)) return () => this.draw([chosen]);
    if (undrawn.length > 0) return () => this.draw(undrawn.slice(0, CURVES_AT_ONCE));
    if (this.resting) return behind.patient(true);
    const wanted = [...this.compared, this.set.baseline, ...all].find(wants);
    if (wanted !== undefined) return () => this.refresh(sound, wanted);
    const patient = behind.patient(false);
    if (patient) return patient;
    const unmeasured = all.filter((index) => now[index].at === turned && now[index].peakedAt !== turned && this.peakOf(index) > 0);
    if (asFiled || unmeasured.length === 0) return null;
    const highest = unmeasured.reduce((most, index) => (this.peakOf(index) > this.peakOf(most) ? index : most));
    return () => this.remeasure(sound, highest);
  }

  /**
   * @param {Sound} sound
   * @param {number} index
   */
  async refresh(sound, index) {
    const { key, turned } = this;
    const known = this.now[index];
    if (key === undefined) return;
    try {
      const made = await this.supplier.voice({ key, index, turned });
      if (this.key !== key) return;
      const isOther = known.at !== turned;
      this.keep(sound, index, known, made, turned);
      if (isOther) this.hear(sound, index, made.kernels.before);
    } catch (error) {
      if (this.key !== key) return;
      this.refuse(index, turned, error);
    }
    this.apply();
    this.hooks.changed();
  }

  /**
   * Takes in that a voice cannot be had with the knobs at `turned`.
   *
   * @param {number} index
   * @param {Turned} turned
   * @param {unknown} error
   */
  refuse(index, turned, error) {
    this.now[index].refusedAt = turned;
    this.hooks.refused(index, reasonOf(error));
  }

  /**
   * @param {Sound} sound
   * @param {number} index
   * @param {Known} known
   * @param {Made} made
   * @param {Turned} turned
   */
  keep(sound, index, known, { kernels, reach, levels, home }, turned) {
    Object.assign(known, { kernels, reach, levels, home: home ?? known.home, at: turned });
    // What the files peak at was measured when they were written.
    if (sound.gains && turned === this.home) Object.assign(known, { peak: sound.gains.peaks[index], peakedAt: turned, peakReach: reach });
  }

  /**
   * Lets the player have a voice's kernels, and what they are the first to need: more taps before time zero.
   *
   * @param {Sound} sound
   * @param {number} index
   * @param {number} before
   */
  hear(sound, index, before) {
    if (before > sound.before) {
      sound.before = before;
      for (const i of this.now.keys()) this.give(sound, i);
    } else {
      this.give(sound, index);
    }
    if (index === this.chosen) this.player?.choose(index);
  }

  /**
   * @param {Sound} sound
   * @param {number} index
   */
  give(sound, index) {
    const { kernels } = this.now[index];
    if (kernels) this.player?.setKernels(index, aligned(kernels, sound.before), this.currentGains()[index]);
  }

  /** @param {number[]} indices */
  async draw(indices) {
    const { turned } = this;
    const curves = await this.supplier.curves({ indices, turned });
    indices.forEach((index, i) => {
      this.now[index].drawnAt = turned;
      this.hooks.drawn(index, curves[i]);
    });
  }

  /**
   * @param {Sound} sound
   * @param {number} index
   */
  async remeasure(sound, index) {
    await this.measure(sound, index, this.now[index]);
    if (this.sound !== sound) return;
    this.apply();
    this.hooks.changed();
  }

  /**
   * Measures how high a voice peaks on a sound.
   *
   * @param {Sound} sound
   * @param {number} index
   * @param {Known} known
   */
  async measure(sound, index, known) {
    const { at, kernels } = known;
    if (!kernels) return;
    const planes = await rendered(sound, this.set.voices[index].section, aligned(kernels, sound.before));
    if (known.at === at) Object.assign(known, { peak: Math.max(...planes.map(largest)), peakedAt: at, peakReach: known.reach });
  }

  /**
   * Returns how high a voice peaks before its gain: measured, or foreseen to change as its kernels' reach does.
   *
   * @param {number} index
   */
  peakOf(index) {
    const known = this.now[index];
    if (!known.kernels) return 0;
    if (known.peakedAt === known.at) return known.peak ?? 0;
    const measured = known.peak === null ? this.now.find(({ peak }) => (peak ?? 0) > 0) : known;
    return measured ? (measured.peak ?? 0) * known.reach / measured.peakReach : 0;
  }

  /** Returns each voice's gain before the listening level. */
  currentGains() {
    const gains = this.now.map((_, index) => (this.matched ? this.matchedGain(index) : this.trueGain(index)));
    const highest = gains.reduce((most, gain, index) => Math.max(most, this.peakOf(index) * gain), 0);
    // What the files reach is allowed as it is: their peaks were kept below the ceiling when they were written.
    const guard = this.asFiled || highest === 0 ? 1 : Math.min(1, this.set.ceiling / highest);
    return gains.map((gain) => gain * guard);
  }

  /** @param {number} index */
  trueGain(index) {
    return this.sound?.gains?.true[index] ?? 1;
  }

  /**
   * Returns the gain that brings a voice to the baseline's level, or its true level's where that is too much.
   *
   * @param {number} index
   */
  matchedGain(index) {
    const { at, levels, home } = this.now[index];
    const weighing = this.set.match_by === "loudness" ? "loud" : "plain";
    /** @type {(wanted: Levels | null, own: Levels | null) => number} */
    const amplitude = (wanted, own) => (wanted && own ? Math.sqrt(wanted[weighing] / own[weighing]) : 1);
    const filed = this.sound?.gains?.matched[index] ?? amplitude(this.now[this.set.baseline].home, home);
    const gain = at === this.home ? filed : filed * amplitude(home, levels);
    return gain <= this.set.most_gain ? gain : this.trueGain(index);
  }

  apply() {
    const { player, behind } = this;
    player?.setGains(this.currentGains());
    player?.reel?.setGain(behind.gains()[this.chosen]);
  }

  /**
   * Hears the voices behind the amplifier at a setting, or at the jack where it is none.
   *
   * @param {number | null} setting
   */
  amplify(setting) {
    this.behind.choose(setting);
    if (setting === null) this.player?.hearAtJack();
    this.sounding();
    this.work();
  }

  /** Lets the chosen voice be heard behind the amplifier, or more of it, as soon as there is enough of it. */
  sounding() {
    const { player, behind, chosen } = this;
    if (!player || behind.setting === null || !behind.hasLevels) return;
    if (!player.source) {
      player.jack.set(0);
      return;
    }
    const tape = behind.tape(chosen);
    if (!tape) return;
    if (player.reel?.tape === tape) player.reel.extend();
    else if (this.lacking(tape) === null) player.hearBehind(tape, behind.gains()[chosen]);
    this.apply();
  }

  /**
   * Returns the frame of the planes that a tape lacks to be heard, or to go on; nothing where it lacks none for a while.
   *
   * @param {Tape} tape
   */
  lacking(tape) {
    const { player } = this;
    if (!player?.source || tape.isWhole) return null;
    const { rate, sound: { lead, length }, reel } = player;
    if (reel?.tape === tape) return reel.at - player.soon() * rate > AHEAD * rate ? null : reel.lacking;
    const from = lead + player.played(player.soonest());
    const end = Math.min(from + BEGUN * rate, lead + (player.loops ? player.region[1] : length));
    return tape.until(from) < end ? from : null;
  }

  /** Takes in that more of a voice behind the amplifier is there. */
  worked() {
    this.sounding();
    this.hooks.changed();
  }

  /** @param {number} index */
  choose(index) {
    this.chosen = index;
    if (this.now[index].at === this.turned) this.player?.choose(index);
    this.apply();
    this.sounding();
    this.work();
  }

  /**
   * Has the voices of a blind comparison ready before others.
   *
   * @param {number[]} indices
   */
  compare(indices) {
    this.compared = indices;
    this.player?.prefer([...new Set([this.chosen, ...indices])]);
    this.work();
  }

  /** @param {boolean} matched */
  setMatched(matched) {
    this.matched = matched;
    this.apply();
  }

  /** @param {number} level */
  setLevel(level) {
    this.level = level;
    if (this.volume && this.player) this.volume.move(level, SWITCH, this.volume.next(this.player.soon()));
  }

  /** Opens the sound card; a browser allows that only when somebody has pressed something. */
  open() {
    if (this.player) return;
    const context = new AudioContext({ sampleRate: this.shown().rate, latencyHint: "interactive" });
    this.card = context;
    this.player = this.wired(context);
    this.volume = new Fader(context, this.level);
    this.meter = new AnalyserNode(context, { fftSize: 2048 });
    this.player.sum.connect(this.volume.node).connect(context.destination);
    this.player.sum.connect(this.meter);
  }

  /** Returns the sound; before there is one, nothing can be pressed. */
  shown() {
    if (!this.sound) throw new Error("no sound is in the mixer yet");
    return this.sound;
  }

  /**
   * Returns a player on `context` with everything as it stands.
   *
   * @param {BaseAudioContext} context
   */
  wired(context) {
    const sound = this.shown();
    const player = new Player(context, sound, this.set.voices.map((voice) => voice.section));
    const gains = this.currentGains();
    this.now.forEach(({ kernels }, i) => {
      if (kernels) player.setKernels(i, aligned(kernels, sound.before), gains[i]);
    });
    player.begin(this.chosen);
    player.onplay = () => {
      this.sounding();
      this.work();
    };
    if (this.behind.setting !== null && this.behind.hasLevels) player.jack.set(0);
    return player;
  }

  close() {
    this.card?.close();
    this.card = null;
    this.player = null;
    this.volume = null;
    this.meter = null;
  }
}
