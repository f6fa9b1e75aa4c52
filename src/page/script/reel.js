// Plays a voice behind the amplifier at the place at which the player is: what there is of its tape at once, piece after piece without
// a gap, and once it is whole all of it, in the player's loop. Where a piece comes too late it is left out, not played later.

/** So much of a tape must be there before it is begun, in seconds. */
const BEGUN = 0.05;
/** So far ahead of what is heard a tape that is not whole is played at most, in seconds. */
const FARTHEST = 4;

class Reel {
  /**
   * @param {Player} player
   * @param {Tape} tape
   * @param {number} gain
   * @param {number} at the frame of the player's context at which it begins
   */
  constructor(player, tape, gain, at) {
    const { context } = player;
    this.player = player;
    this.tape = tape;
    this.gain = new Fader(context, gain);
    this.outlet = new Fader(context, 0);
    this.gain.node.connect(this.outlet.node).connect(player.sum);
    /** When its next piece begins, and which frame of what is played that is. */
    this.at = at;
    this.frame = player.played(at);
    /** When it is heard first, in seconds. */
    this.begun = at / player.rate;
    /** @type {AudioBufferSourceNode[]} */
    this.sources = [];
    this.isWhole = false;
  }

  /** Returns the frame of the planes that it lacks next. */
  get lacking() {
    const { player: { sound: { lead }, loops, region: [start, end] }, tape, frame } = this;
    const seam = this.player.seam();
    const isInSeam = loops && frame >= end - seam && frame < end;
    const begin = lead + start - seam;
    if (isInSeam && begin >= 0 && tape.until(begin) < lead + start) return tape.until(begin);
    return lead + frame;
  }

  /** Appends what there is by now. */
  extend() {
    const { player, tape } = this;
    const { rate, sound: { lead, length }, loops, region: [, end] } = player;
    const late = Math.ceil(player.soon() * rate) - this.at;
    if (late > 0) this.pass(late);
    if (this.isWhole || this.frame >= length) return;
    if (tape.isWhole) {
      this.isWhole = true;
      const source = player.sourceOf(tape.planes, this.frame, this.at / rate);
      this.add(source);
      return;
    }
    while (this.at < (player.soon() + FARTHEST) * rate) {
      const stop = loops && this.frame < end ? end : length;
      const frames = Math.min(tape.until(lead + this.frame) - lead, stop) - this.frame;
      const until = this.uptoSeam(this.frame + frames);
      if (until <= this.frame) return;
      const buffer = new AudioBuffer({ length: until - this.frame, sampleRate: rate, numberOfChannels: tape.planes.length });
      tape.planes.forEach((plane, channel) => {
        const samples = buffer.getChannelData(channel);
        samples.set(plane.subarray(lead + this.frame, lead + until));
        player.close(plane, samples, this.frame);
      });
      const source = new AudioBufferSourceNode(player.context, { buffer });
      source.start(this.at / rate);
      this.add(source);
      this.pass(until - this.frame);
    }
  }

  /**
   * Returns up to where can be played, `until` or where the loop's end is led over into what is not there yet.
   *
   * @param {number} until
   */
  uptoSeam(until) {
    const { player: { sound: { lead }, loops, region: [start, end] }, tape } = this;
    const seam = this.player.seam();
    if (!loops || this.frame >= end || until <= end - seam) return until;
    const begin = Math.max(0, lead + start - seam);
    return tape.until(begin) >= lead + start ? until : Math.max(this.frame, end - seam);
  }

  /** @param {number} gain */
  setGain(gain) {
    if (gain !== this.gain.to) this.gain.move(gain, SWITCH, this.gain.next(this.player.soon()));
  }

  /** @param {number} frames */
  pass(frames) {
    this.at += frames;
    this.frame = this.player.within(this.frame + frames);
  }

  /** @param {AudioBufferSourceNode} source */
  add(source) {
    source.connect(this.gain.node);
    this.sources.push(source);
    source.addEventListener("ended", () => {
      source.disconnect();
      this.sources = this.sources.filter((own) => own !== source);
    });
  }

  /**
   * Fades out from `time` on, and ends.
   *
   * @param {number} time
   */
  end(time) {
    this.outlet.move(0, SWITCH, time);
    for (const source of this.sources) source.stop(time + SWITCH);
    setTimeout(() => this.outlet.node.disconnect(), 1000 * (time + SWITCH + 0.2 - this.player.context.currentTime));
  }
}
