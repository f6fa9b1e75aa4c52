// The plain answers: what each voice does to the sound against the baseline, as the knobs stand and on the sound that is
// on the desk. What the files were measured at is told as it is; what has moved from there is worked out and marked.

/** Returns the words of the last of `steps`, [from, words] in rising order, that `value` reaches. */
function worded(steps, value) {
  return (steps.findLast(([from]) => value >= from) ?? steps[0])[1];
}

/** Returns a number with a true minus sign and without a negative zero. */
function signed(value, digits) {
  return value.toFixed(digits).replace(/^-(?=0(\.0*)?$)/, "").replace("-", "−");
}

/** Returns what a voice does, {words, loudness, isApproximate}, or null while that is not known. */
function answerOf(desk, index) {
  const { set, now, sound } = desk;
  const [filed, base] = [set.voices[index], set.voices[set.baseline]];
  if (desk.asFiled) return { words: filed.answer ?? "", loudness: filed.loudness_lu, isApproximate: filed.approximate };
  const [own, reference] = [now[index], now[set.baseline]];
  if (![own, reference].every(({ at, levels }) => at === desk.turned && levels)) return null;
  const isKnown = own.levels.loud > 0 && reference.levels.loud > 0;
  if (!isKnown) return { words: own.levels.loud > 0 ? "" : "silent", loudness: null, isApproximate: true };
  // Energies know no gates: where there are files, they tell only what has changed since.
  const change = (of) => 10 * Math.log10(own[of].loud / reference[of].loud);
  const brighter = (of) => own[of].centroid / reference[of].centroid;
  const wasHeard = Boolean(sound.gains) && own.home.loud > 0 && reference.home.loud > 0;
  const isMeasured = wasHeard && filed.loudness_lu !== null;
  const moved = isMeasured ? change("levels") - change("home") : change("levels");
  // Ten decibels more are heard as twice as loud.
  const heard = (1 + (isMeasured ? filed.heard ?? 2 ** (filed.loudness_lu / 10) - 1 : 0)) * 2 ** (moved / 10) - 1;
  const ratio = wasHeard && filed.centroid_hz && base.centroid_hz
    ? filed.centroid_hz / base.centroid_hz * brighter("levels") / brighter("home")
    : brighter("levels");
  const words = `${worded(set.words.loudness, heard)}, ${worded(set.words.brightness, ratio)}`;
  return { words: `≈ ${words}`, loudness: (isMeasured ? filed.loudness_lu : 0) + moved, isApproximate: true };
}
