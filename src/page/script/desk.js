// The desk: the sound on it, the voices and their gains, and the player once somebody has pressed play.

/** How long the knobs rest before peaks are measured and not only foreseen. */
const PAUSE_MS = 300;

class Desk {
  constructor(set) {
    this.set = set;
    this.turned = homeOf(set);
    this.chosen = set.baseline;
    this.matched = true;
    this.level = 1;
    this.loads = 0;
    this.onlevels = () => {};
  }

  /** Puts a sound on the desk: {planes, rate, lead, length, coils, gains}, `gains` being those of the files or null. */
  async load(sound) {
    const load = ++this.loads;
    const voices = voicesOf(this.set, sound.coils);
    const power = await powerOf(sound.planes, sound.rate, sound.coils, this.set.match_by === "loudness");
    const home = [];
    for (const voice of voices) {
      const { kernels, spectra } = voice.made(sound.rate, homeOf(this.set));
      home.push({ kernels, energy: energyOf(spectra, power), reach: reach(kernels) });
      await pause();
    }
    // What all kernels have before time zero; one that has less is moved, and one that has more is cut.
    sound.before = Math.max(...home.map(({ kernels }) => kernels.before));
    const gains = sound.gains ?? await this.measured(sound, voices, home);
    if (load !== this.loads) return false;
    this.close();
    Object.assign(this, { sound, voices, power, home, gains });
    this.now = home.map((voice, i) => ({ ...voice, peak: gains.peaks[i], stale: false }));
    this.turn(this.turned);
    return true;
  }

  /** Returns gains for a sound that no file was made of: true levels as they are, and matched to the baseline. */
  async measured(sound, voices, home) {
    const peaks = await Promise.all(home.map(({ kernels }, i) => peakOf(sound, voices[i], kernels)));
    const own = (voice) => (voice.energy > 0 ? Math.sqrt(home[this.set.baseline].energy / voice.energy) : 1);
    return { true: home.map(() => 1), matched: home.map((voice) => Math.min(own(voice), MOST_MATCH)), peaks };
  }

  get atHome() {
    const home = homeOf(this.set);
    return Object.keys(home).every((knob) => home[knob] === this.turned[knob]);
  }

  /** Takes the knobs to `turned`: the chosen voice at once, the others one by one after it. */
  turn(turned) {
    this.turned = turned;
    for (const voice of this.now) voice.stale = true;
    this.refresh(this.chosen);
    this.apply();
    clearTimeout(this.resting);
    this.resting = setTimeout(() => this.settle(), this.atHome ? 0 : PAUSE_MS);
  }

  refresh(index) {
    const voice = this.now[index];
    if (!voice.stale) return;
    if (this.atHome) {
      Object.assign(voice, this.home[index], { peak: this.gains.peaks[index] });
    } else {
      const { kernels, spectra } = this.voices[index].made(this.sound.rate, this.turned);
      // Until it is measured, a peak is foreseen to change as the kernel's reach does.
      const reached = reach(kernels);
      const peak = this.gains.peaks[index] * reached / this.home[index].reach;
      Object.assign(voice, { kernels, energy: energyOf(spectra, this.power), reach: reached, peak });
    }
    voice.stale = false;
    this.player?.setKernels(index, aligned(voice.kernels, this.sound.before));
  }

  /** Brings all voices to where the knobs rest, and measures how high they peak there. */
  async settle() {
    const { turned, sound } = this;
    const over = () => this.turned !== turned || this.sound !== sound;
    for (const index of this.now.keys()) {
      this.refresh(index);
      await pause();
      if (over()) return;
    }
    this.apply();
    if (this.atHome) return;
    const peaks = await Promise.all(this.now.map((voice, i) => peakOf(sound, this.voices[i], voice.kernels)));
    if (over()) return;
    this.now.forEach((voice, i) => { voice.peak = peaks[i]; });
    this.apply();
  }

  /** Returns each voice's gain before the listening level. */
  currentGains() {
    const gains = this.now.map((voice, i) => {
      if (!this.matched) return this.gains.true[i];
      const change = voice.energy > 0 ? Math.sqrt(this.home[i].energy / voice.energy) : 1;
      return this.gains.matched[i] * Math.min(change, MOST_MATCH);
    });
    const highest = this.now.reduce((most, voice, i) => Math.max(most, voice.peak * gains[i]), 0);
    // What the files reach is allowed as it is: their peaks were kept below the ceiling when they were written.
    const guard = this.atHome && this.sound.gains ? 1 : Math.min(1, this.set.ceiling / highest);
    return gains.map((gain) => gain * guard);
  }

  apply() {
    this.player?.setGains(this.currentGains());
    this.onlevels();
  }

  choose(index) {
    this.chosen = index;
    this.refresh(index);
    this.player?.choose(index);
  }

  setMatched(matched) {
    this.matched = matched;
    this.apply();
  }

  setLevel(level) {
    this.level = level;
    this.volume?.move(level, SWITCH, this.player.soon());
  }

  /** Opens the sound card; a browser allows that only when somebody has pressed something. */
  open() {
    if (this.player) return;
    const context = new AudioContext({ sampleRate: this.sound.rate, latencyHint: "interactive" });
    this.player = this.wired(context);
    this.volume = new Fader(context, this.level);
    this.meter = new AnalyserNode(context, { fftSize: 2048 });
    this.player.sum.connect(this.volume.node).connect(context.destination);
    this.player.sum.connect(this.meter);
  }

  /** Returns a player on `context` with everything as it stands. */
  wired(context) {
    const player = new Player(context, this.sound, this.voices);
    this.now.forEach((voice, i) => player.setKernels(i, aligned(voice.kernels, this.sound.before)));
    player.strands.forEach((strand, i) => {
      strand.outlet.set(i === this.chosen ? 1 : 0);
      strand.trim.set(this.currentGains()[i]);
    });
    return player;
  }

  close() {
    this.player?.context.close();
    this.player = null;
    this.volume = null;
    this.meter = null;
  }
}

/** Returns the highest sample that a voice makes of a sound. */
async function peakOf(sound, voice, kernels) {
  const planes = await rendered(sound, voice, aligned(kernels, sound.before));
  return Math.max(...planes.map(largest));
}
