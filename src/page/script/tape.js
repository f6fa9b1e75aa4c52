// What a voice is behind the amplifier, as far as it is worked out: hop by hop, a hop being a tenth of a second, from wherever it is
// wanted. A hop that was worked out soon after a beginning in the middle of the sound is rough, and worked out again.

/** So long after a beginning in the middle of the sound a hop is the same as from its beginning on, to 24 bits, in seconds. */
const SETTLED = 0.5;
/** The most hops of a piece. */
const MOST_HOPS = 8;
const UNKNOWN = 0;
const ROUGH = 1;
const EXACT = 2;

class Tape {
  /** @param {Sound} sound */
  constructor(sound) {
    const { planes: [{ length }], rate, lead } = sound;
    this.sound = sound;
    this.hop = hopOf(rate);
    /** The first hop, which is before what is played where anything is, and the end of those that there are. */
    this.first = lead >= this.hop ? -1 : 0;
    this.end = Math.ceil(sound.length / this.hop);
    this.planes = Array.from({ length: channelsOf(sound) }, () => new Float32Array(length));
    this.states = new Uint8Array(this.end - this.first);
    this.plain = new Float64Array(Math.floor(sound.length / this.hop));
    this.loud = new Float64Array(this.plain.length);
    this.peak = 0;
    /** The middle of its spectrum in hertz, once it is whole. @type {number | null} */
    this.centroid = null;
    /** The hop that follows the last piece, and how many went out since it began. */
    this.next = NaN;
    this.since = 0;
    this.left = this.states.length;
  }

  get isWhole() {
    return this.left === 0;
  }

  /**
   * Returns the frame of the sound's planes at which a hop begins.
   *
   * @param {number} hop
   */
  frameOf(hop) {
    return this.sound.lead + hop * this.hop;
  }

  /** @param {number} hop */
  state(hop) {
    return this.states[hop - this.first];
  }

  /**
   * Returns the end of what is there from `frame` of the planes on, `frame` itself where it is not.
   *
   * @param {number} frame
   */
  until(frame) {
    let hop = Math.floor((frame - this.sound.lead) / this.hop);
    if (hop < this.first || hop >= this.end || this.state(hop) === UNKNOWN) return frame;
    while (hop < this.end && this.state(hop) !== UNKNOWN) hop++;
    return Math.min(this.frameOf(hop), this.planes[0].length);
  }

  /**
   * Returns the piece to be worked out next and where to begin for it, where the frame `wanted` of the planes is what is played next and is not there.
   *
   * @param {number | null} wanted
   */
  piece(wanted) {
    const asked = wanted === null ? null : Math.max(this.first, Math.min(this.end - 1, Math.floor((wanted - this.sound.lead) / this.hop)));
    let hop = this.next;
    if (asked !== null && this.state(asked) === UNKNOWN) hop = hop === asked ? hop : asked;
    else if (!(hop < this.end) || (this.state(hop) === EXACT && this.isSettled(this.since))) hop = this.unsettled();
    if (hop !== this.next) this.since = this.isFromTheStart(hop) ? Infinity : 0;
    const most = this.since === 0 ? 2 : MOST_HOPS;
    const end = Math.min(this.end, hop + most);
    const from = this.frameOf(hop);
    const begin = hop === this.first ? 0 : Math.max(0, from - Math.round(MISSED * this.sound.rate));
    return { hop, from, begin, count: Math.min(this.frameOf(end), this.planes[0].length) - from };
  }

  /** @param {number} since how many hops went out since a beginning */
  isSettled(since) {
    return since / HOPS >= SETTLED;
  }

  /** Returns where to begin so that the first hop that is not exact becomes so. */
  unsettled() {
    const missing = this.first + this.states.findIndex((state) => state !== EXACT);
    return Math.max(this.first, missing - Math.ceil(SETTLED * HOPS));
  }

  /** @param {number} hop */
  isFromTheStart(hop) {
    return hop === this.first || this.frameOf(hop) <= MISSED * this.sound.rate;
  }

  /**
   * Takes a piece that was worked out.
   *
   * @param {{ hop: number, from: number, count: number }} piece
   * @param {Piece} made
   */
  take({ hop, from, count }, { planes, plain, loud }) {
    const hops = Math.ceil(count / this.hop);
    for (let i = 0; i < hops; i++) {
      const place = hop + i;
      const state = this.isSettled(this.since + i) ? EXACT : ROUGH;
      const had = this.state(place);
      if (had === EXACT) continue;
      this.states[place - this.first] = state;
      if (state === EXACT) this.left--;
      const end = Math.min(count, (i + 1) * this.hop);
      planes.forEach((plane, channel) => {
        const own = plane.subarray(i * this.hop, end);
        this.planes[channel].set(own, from + i * this.hop);
        if (place >= 0) this.peak = Math.max(this.peak, largest(own));
      });
      if (place >= 0 && place < this.plain.length) [this.plain[place], this.loud[place]] = [plain[i], loud[i]];
    }
    this.next = hop + hops;
    this.since += hops;
  }

  /**
   * Returns the mean squares of all hops: where they are not there yet, those of another tape, changed as those are that both have.
   *
   * @param {"plain" | "loud"} what
   * @param {Tape | null} other
   */
  foreseen(what, other) {
    const own = this[what];
    if (this.isWhole || !other) return own;
    /** @type {(i: number) => boolean} */
    const isThere = (i) => this.state(i) !== UNKNOWN;
    let [mine, theirs] = [0, 0];
    own.forEach((power, i) => {
      if (isThere(i)) [mine, theirs] = [mine + power, theirs + other[what][i]];
    });
    const change = theirs > 0 ? mine / theirs : 1;
    return own.map((power, i) => (isThere(i) ? power : other[what][i] * change));
  }
}
