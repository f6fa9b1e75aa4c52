// The plain answers: what each voice does to the sound against the baseline, as the knobs stand and on the sound that is
// in the mixer. What the files were measured at is told as it is; what has moved from there is worked out and marked.

/**
 * Returns the words of the last of `steps`, in rising order, that `value` reaches.
 *
 * @param {[from: number, words: string][]} steps
 * @param {number} value
 */
function worded(steps, value) {
  return (steps.findLast(([from]) => value >= from) ?? steps[0])[1];
}

/**
 * Returns a number with a true minus sign and without a negative zero.
 *
 * @param {number} value
 * @param {number} digits
 */
function signed(value, digits) {
  return value.toFixed(digits).replace(/^-(?=0(\.0*)?$)/, "").replace("-", "−");
}

/**
 * Returns what a voice does, or null while that is not known: at the jack and, where it is heard behind the amplifier, at the
 * loudspeaker too.
 *
 * @param {Mixer} mixer
 * @param {number} index
 * @returns {Answer | null}
 */
function answerOf(mixer, index) {
  const atJack = answerAtJack(mixer, index);
  if (!atJack || mixer.behind.setting === null) return atJack;
  return { ...atJack, behind: answerBehind(mixer, index) };
}

/**
 * Returns what a voice does at the loudspeaker, or null while that is not known.
 *
 * @param {Mixer} mixer
 * @param {number} index
 * @returns {Told | null}
 */
function answerBehind({ set: { voices, words }, behind }, index) {
  const filed = voices[index].behind;
  if (behind.asFiled && filed) return { words: filed.answer ?? "", loudness: filed.loudness_lu, isApproximate: voices[index].approximate };
  const told = behind.told(index);
  if (!told) return null;
  if (told.loudness === null) return { words: "silent", loudness: null, isApproximate: true };
  const heard = 2 ** (told.loudness / 10) - 1;
  return { words: `≈ ${worded(words.loudness, heard)}, ${worded(words.brightness, told.brightness)}`, loudness: told.loudness, isApproximate: true };
}

/**
 * Returns what a voice does at the jack, or null while that is not known.
 *
 * @param {Mixer} mixer
 * @param {number} index
 * @returns {Told | null}
 */
function answerAtJack(mixer, index) {
  const { set, now, sound } = mixer;
  const [filed, base] = [set.voices[index], set.voices[set.baseline]];
  if (!sound) return null;
  if (mixer.asFiled) return { words: filed.answer ?? "", loudness: filed.loudness_lu, isApproximate: filed.approximate };
  const [own, reference] = [now[index], now[set.baseline]];
  if (![own, reference].every(({ at }) => at === mixer.turned) || !own.levels || !reference.levels) return null;
  const [ownLevels, levels] = [own.levels, reference.levels];
  const isKnown = ownLevels.loud > 0 && levels.loud > 0;
  if (!isKnown) return { words: ownLevels.loud > 0 ? "" : "silent", loudness: null, isApproximate: true };
  // Energies know no gates: where there are files, they tell only what has changed since.
  /** @type {(one: Levels, other: Levels) => number} */
  const change = (one, other) => 10 * Math.log10(one.loud / other.loud);
  /** @type {(one: Levels, other: Levels) => number} */
  const brighter = (one, other) => one.centroid / other.centroid;
  const homes = sound.gains && own.home && reference.home && own.home.loud > 0 && reference.home.loud > 0
    ? { own: own.home, base: reference.home } : null;
  const measured = homes ? filed.loudness_lu : null;
  const moved = homes && measured !== null
    ? change(ownLevels, levels) - change(homes.own, homes.base) : change(ownLevels, levels);
  // Ten decibels more are heard as twice as loud.
  const heard = (1 + (measured === null ? 0 : filed.heard ?? 2 ** (measured / 10) - 1)) * 2 ** (moved / 10) - 1;
  const ratio = homes && filed.centroid_hz && base.centroid_hz
    ? filed.centroid_hz / base.centroid_hz * brighter(ownLevels, levels) / brighter(homes.own, homes.base)
    : brighter(ownLevels, levels);
  const words = `${worded(set.words.loudness, heard)}, ${worded(set.words.brightness, ratio)}`;
  return { words: `≈ ${words}`, loudness: (measured ?? 0) + moved, isApproximate: true };
}
