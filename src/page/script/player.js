// The player: one source feeds the voices at once, those heard last run all the time, and switching moves their outlets in
// straight lines that add up to one. So whatever is chosen is at the same sample, and nothing clicks. The same graph
// plays through the sound card and renders offline.

const SWITCH = 0.012;
const SEAM = 0.008;
/** How long a new kernel runs before it is heard: what it missed of the sound is then over. */
const WARM = 0.03;
/**
 * How many convolutions run at once, a few hundredths of a core: what is heard and what was heard last. A voice beyond them
 * is fed again when it is chosen.
 */
const MOST_RUNNING = 24;

/** A gain that moves in straight lines, also when it is sent elsewhere on its way. */
class Fader {
  /**
   * @param {BaseAudioContext} context
   * @param {number} value
   */
  constructor(context, value) {
    this.node = new GainNode(context, { gain: value });
    this.from = value;
    this.to = value;
    this.start = 0;
    this.end = 0;
  }

  /**
   * Sets the gain before anything is heard.
   *
   * @param {number} value
   */
  set(value) {
    this.node.gain.value = value;
    this.from = value;
    this.to = value;
  }

  /** @param {number} time */
  at(time) {
    if (time >= this.end) return this.to;
    return this.from + (this.to - this.from) * Math.max(0, time - this.start) / (this.end - this.start);
  }

  /**
   * Returns when a move that is wished for at `time` can begin: after one that is under way, for a line that is broken off
   * is heard; in place of one that is still to come, for the last wish wins.
   *
   * @param {number} time
   */
  next(time) {
    if (time <= this.start) return this.start;
    return Math.max(time, this.end);
  }

  /**
   * Moves to the gain `to`, from `start` on, in so many `seconds`.
   *
   * @param {number} to
   * @param {number} seconds
   * @param {number} start
   */
  move(to, seconds, start) {
    const from = this.at(start);
    const gain = this.node.gain;
    gain.cancelScheduledValues(start);
    // A line that is cut off here is drawn again up to here; else the gain would jump back to where it began.
    gain.linearRampToValueAtTime(from, start);
    gain.linearRampToValueAtTime(to, start + seconds);
    this.from = from;
    this.to = to;
    this.start = start;
    this.end = start + seconds;
  }
}

/** One voice's way from the source to the sum: its kernels and its gain, then its section where it has one. */
class Strand {
  /**
   * @param {Player} player
   * @param {SectionData | null} section
   */
  constructor(player, section) {
    this.player = player;
    this.outlet = new Fader(player.context, 0);
    this.outlet.node.connect(player.jack.node);
    /** @type {AudioNode} */
    this.inlet = this.outlet.node;
    if (section) {
      this.inlet = new IIRFilterNode(player.context, { feedforward: section.b, feedback: [1, ...section.a] });
      this.inlet.connect(this.outlet.node);
    }
    /** @type {Path | null} */
    this.path = null;
    /** From when on what the path missed of the sound is over. */
    this.warm = 0;
    this.isFed = true;
  }

  /**
   * Feeds the voice from now on, or leaves it in silence.
   *
   * @param {boolean} isFed
   * @param {number} at
   */
  feed(isFed, at) {
    if (isFed === this.isFed) return;
    this.isFed = isFed;
    if (isFed) this.warm = Math.max(this.warm, at + WARM);
    if (this.path) this.connect(this.path, isFed);
  }

  /**
   * @param {Path} path
   * @param {boolean} isFed
   */
  connect(path, isFed) {
    const { feeds } = this.player;
    for (const part of path.filters) {
      if (part.isFed === isFed) continue;
      part.isFed = isFed;
      if (isFed) feeds.connect(part.filter, part.feed);
      else feeds.disconnect(part.filter, part.feed);
    }
  }

  /**
   * Hears through `kernels` from now on, one a feed, at `gain`. What was heard before keeps its gain and fades out
   * under them: a gain is only ever heard with the kernels that it was worked out for.
   *
   * @param {Float32Array<ArrayBuffer>[]} kernels
   * @param {number} gain
   * @param {number} at
   */
  through(kernels, gain, at) {
    const old = this.path;
    this.warm = Math.max(at + WARM, old?.fader.end ?? 0);
    const { context, feeds, rate } = this.player;
    const fader = new Fader(context, old ? 0 : gain);
    // A coil that is not heard costs nothing.
    const heard = [...kernels.entries()].filter(([, taps]) => largest(taps) > 0);
    const filters = heard.map(([feed, taps]) => {
      const buffer = new AudioBuffer({ length: taps.length, sampleRate: rate, numberOfChannels: 1 });
      buffer.copyToChannel(taps, 0);
      // A source that has ended is one channel of silence; held at the sound's own number, a filter rings on in all.
      const filter = new ConvolverNode(context, {
        disableNormalization: true, buffer, channelCount: feeds.channels, channelCountMode: "explicit",
      });
      filter.connect(fader.node);
      return { filter, feed, isFed: false };
    });
    fader.node.connect(this.inlet);
    this.path = { fader, filters };
    this.connect(this.path, this.isFed);
    if (!old) return;
    fader.move(gain, SWITCH, this.warm);
    old.fader.move(0, SWITCH, this.warm);
    setTimeout(() => {
      this.connect(old, false);
      old.fader.node.disconnect();
    }, 1000 * (this.warm + SWITCH + 0.2 - context.currentTime));
  }

  /**
   * Sets the gain, not before the path that it is for is heard; without a path there is none.
   *
   * @param {number} gain
   * @param {number} at
   */
  setGain(gain, at) {
    if (!this.path) return;
    const { fader } = this.path;
    if (gain !== fader.to) fader.move(gain, SWITCH, fader.next(at));
  }
}

/** What feeds the voices: the source as it is, or each of its channels by itself. */
class Feeds {
  /**
   * @param {BaseAudioContext} context
   * @param {Sound} sound
   */
  constructor(context, sound) {
    const { coils } = sound;
    this.inlet = new GainNode(context);
    this.channels = channelsOf(sound);
    this.split = coils > 0 ? new ChannelSplitterNode(context, { numberOfOutputs: coils }) : null;
    if (this.split) this.inlet.connect(this.split);
  }

  /**
   * @param {AudioNode} filter
   * @param {number} feed
   */
  connect(filter, feed) {
    if (this.split) this.split.connect(filter, feed);
    else this.inlet.connect(filter);
  }

  /**
   * @param {AudioNode} filter
   * @param {number} feed
   */
  disconnect(filter, feed) {
    if (this.split) this.split.disconnect(filter, feed);
    else this.inlet.disconnect(filter);
  }
}

class Player {
  /**
   * `sections` has each voice's section, or nothing where it has none.
   *
   * @param {BaseAudioContext} context
   * @param {Sound} sound
   * @param {(SectionData | null)[]} sections
   */
  constructor(context, sound, sections) {
    this.context = context;
    this.sound = sound;
    this.rate = sound.rate;
    this.ahead = context instanceof AudioContext ? 0.01 : 0;
    this.feeds = new Feeds(context, sound);
    this.sum = new GainNode(context);
    /** What comes of all voices at the jack; silent where they are heard behind the amplifier. */
    this.jack = new Fader(context, 1);
    this.jack.node.connect(this.sum);
    /** What is heard behind the amplifier. @type {Reel | null} */
    this.reel = null;
    this.strands = sections.map((section) => new Strand(this, section));
    /** @type {number | null} */
    this.heard = null;
    /** The voices, those that were heard last before the others. */
    this.recent = this.strands.map((_, index) => index);
    this.most = MOST_RUNNING;
    /** @type {{ source: AudioBufferSourceNode, fader: Fader, from: number, at: number } | null} */
    this.source = null;
    /** @type {(() => void) | null} */
    this.onended = null;
    /** Called when it plays from another place. @type {(() => void) | null} */
    this.onplay = null;
    this.region = [0, sound.length];
    this.loops = true;
  }

  soon() {
    return this.context.currentTime + this.ahead;
  }

  /**
   * Chooses the voice that is heard before anything is.
   *
   * @param {number} index
   */
  begin(index) {
    this.strands[index].outlet.set(1);
    this.heard = index;
    this.prefer([index]);
  }

  /**
   * Has voices run before others.
   *
   * @param {number[]} indices
   */
  prefer(indices) {
    this.recent = [...new Set([...indices, ...this.recent])];
    this.ration();
  }

  /** Feeds as many voices as may run, and always those that a fade may still be from and to. */
  ration() {
    const at = this.soon();
    let left = this.most;
    this.recent.forEach((index, place) => {
      const strand = this.strands[index];
      left -= strand.path?.filters.length ?? 0;
      strand.feed(place < 3 || left >= 0, at);
    });
  }

  /**
   * Chooses the voice that is heard, as soon as it has heard enough of the sound itself.
   *
   * @param {number} index
   */
  choose(index) {
    if (index === this.heard) return;
    this.prefer([index]);
    // All outlets move at the same times, so that they always add up to one.
    const at = this.strands[index].outlet.next(Math.max(this.soon(), this.source ? this.strands[index].warm : 0));
    this.strands.forEach((strand, i) => strand.outlet.move(i === index ? 1 : 0, SWITCH, at));
    this.heard = index;
  }

  /**
   * Sets the gains of the voices that have kernels.
   *
   * @param {number[]} gains
   */
  setGains(gains) {
    const at = this.soon();
    this.strands.forEach((strand, i) => strand.setGain(gains[i], at));
  }

  /**
   * @param {number} index
   * @param {Float32Array<ArrayBuffer>[]} kernels
   * @param {number} gain
   */
  setKernels(index, kernels, gain) {
    this.strands[index].through(kernels, gain, this.soon());
    this.ration();
  }

  /**
   * Plays from frame `from` of what is played.
   *
   * @param {number} from
   */
  play(from) {
    // Reels want whole frames.
    const at = Math.ceil(this.soon() * this.rate) / this.rate;
    this.fadeOut(at);
    const fader = new Fader(this.context, 0);
    const source = this.sourceOf(this.sound.planes, from, at);
    source.connect(fader.node).connect(this.feeds.inlet);
    fader.move(1, 0.003, at);
    this.source = { source, fader, from, at };
    source.addEventListener("ended", () => {
      if (this.source?.source !== source) return;
      this.source = null;
      this.reel = null;
      this.onended?.();
    });
    this.onplay?.();
  }

  /**
   * Returns what plays planes from frame `from` of what is played, at a time, in the loop where there is one.
   *
   * @param {Float32Array<ArrayBuffer>[]} planes
   * @param {number} from
   * @param {number} at
   */
  sourceOf(planes, from, at) {
    const source = new AudioBufferSourceNode(this.context, { buffer: this.buffer(planes) });
    const { lead, rate } = this.sound;
    if (this.loops) {
      Object.assign(source, { loop: true, loopStart: (lead + this.region[0]) / rate, loopEnd: (lead + this.region[1]) / rate });
    }
    const length = this.loops ? undefined : (this.sound.length - from) / rate;
    source.start(at, (lead + from) / rate, length);
    return source;
  }

  stop() {
    const frame = this.frame();
    this.fadeOut(this.soon());
    this.source = null;
    return frame;
  }

  /** @param {number} at */
  fadeOut(at) {
    if (!this.source) return;
    this.source.fader.move(0, SWITCH, at);
    this.source.source.stop(at + SWITCH);
    this.reel?.end(at);
    this.reel = null;
  }

  /**
   * Returns the frame of what is played that comes out of the voices at a frame of the context.
   *
   * @param {number} at
   */
  played(at) {
    if (!this.source) return 0;
    return this.within(this.source.from + Math.max(0, at - Math.round(this.source.at * this.rate) - this.sound.before));
  }

  /** Returns the first frame of the context from which on a reel can begin. */
  soonest() {
    const { at } = this.source ?? { at: 0 };
    const free = Math.max(this.soon(), this.jack.end, this.reel?.outlet.end ?? 0);
    return Math.max(Math.ceil(free * this.rate), Math.round(at * this.rate) + this.sound.before);
  }

  /**
   * Returns the frame that is played where so many have been, which in a loop come again.
   *
   * @param {number} frame
   */
  within(frame) {
    const [start, end] = this.region;
    return !this.loops || frame < end ? frame : start + (frame - start) % (end - start);
  }

  /**
   * Hears a voice behind the amplifier, from the first frame on that comes after whatever fades now.
   *
   * @param {Tape} tape
   * @param {number} gain
   */
  hearBehind(tape, gain) {
    const reel = new Reel(this, tape, gain, this.soonest());
    reel.extend();
    const at = reel.begun;
    reel.outlet.move(1, SWITCH, at);
    if (this.reel) this.reel.end(at);
    else this.jack.move(0, SWITCH, at);
    this.reel = reel;
  }

  /** Hears the voices at the jack again. */
  hearAtJack() {
    const at = this.jack.next(this.soon());
    this.jack.move(1, SWITCH, at);
    this.reel?.end(at);
    this.reel = null;
  }

  /** Returns the frame that is heard now. */
  frame() {
    if (!this.source) return 0;
    const latency = this.context instanceof AudioContext ? this.context.outputLatency : 0;
    const late = (latency || 0) + this.sound.before / this.rate;
    const passed = Math.max(0, this.context.currentTime - late - this.source.at) * this.rate;
    const frame = this.source.from + passed;
    const isLooped = this.loops && frame >= this.region[1];
    return isLooped ? this.within(frame) : Math.min(frame, this.sound.length);
  }

  /**
   * Returns planes with their loop's end led over into what comes before its start, so that the loop has no step.
   *
   * @param {Float32Array<ArrayBuffer>[]} planes
   */
  buffer(planes) {
    const { rate, lead } = this.sound;
    const buffer = new AudioBuffer({ length: planes[0].length, sampleRate: rate, numberOfChannels: planes.length });
    planes.forEach((plane, channel) => {
      buffer.copyToChannel(plane, channel);
      this.close(plane, buffer.getChannelData(channel), -lead);
    });
    return buffer;
  }

  /** Returns over how many frames a loop's end is led over. */
  seam() {
    const [start, end] = this.region;
    return Math.min(Math.round(SEAM * this.rate), end - start);
  }

  /**
   * Leads the loop's end over, as far as it is among `samples`, which are those of `plane` from frame `from` of what is played on.
   *
   * @param {Float32Array} plane
   * @param {Float32Array} samples
   * @param {number} from
   */
  close(plane, samples, from) {
    if (!this.loops) return;
    const [start, end] = this.region;
    const [seam, { lead }] = [this.seam(), this.sound];
    for (let i = Math.max(0, from - (end - seam)); i < seam && end - seam + i - from < samples.length; i++) {
      const share = (i + 1) / seam;
      samples[end - seam + i - from] = plane[lead + end - seam + i] * (1 - share) + (plane[lead + start - seam + i] ?? 0) * share;
    }
  }
}

/**
 * Returns what `kernels` and a section, where there is one, make of a sound, one plane a channel: what is played of it,
 * rendered offline by the player's own graph, the taps before time zero taken off.
 *
 * @param {Sound} sound
 * @param {SectionData | null} section
 * @param {Float32Array<ArrayBuffer>[]} kernels
 */
async function rendered(sound, section, kernels) {
  const channels = channelsOf(sound);
  const length = sound.planes[0].length + sound.before;
  const context = new OfflineAudioContext({ numberOfChannels: channels, length, sampleRate: sound.rate });
  const player = new Player(context, sound, [section]);
  player.loops = false;
  player.setKernels(0, kernels, 1);
  player.begin(0);
  const source = new AudioBufferSourceNode(context, { buffer: player.buffer(sound.planes) });
  source.connect(player.feeds.inlet);
  player.sum.connect(context.destination);
  source.start();
  const buffer = await context.startRendering();
  const from = sound.before + sound.lead;
  return Array.from({ length: channels }, (_, c) => buffer.getChannelData(c).slice(from, from + sound.length));
}
