// Sounds: the one that the page carries, and one that the listener brings.

/** The longest own sound that is used, in seconds, and the largest file that is read. */
const LONGEST = 300;
const LARGEST = 400e6;

/**
 * Returns the sound that the page carries; its samples are 24-bit integers, channel after channel.
 *
 * @param {SetData} set
 * @param {string} text
 * @returns {Sound}
 */
function carriedSound(set, text) {
  const bytes = atob(text);
  const { channels, frames, lead, played, unit, rate_hz: rate } = set.sound;
  const planes = Array.from({ length: channels }, (_, channel) => {
    const plane = new Float32Array(frames);
    for (let i = 0, at = 3 * channel * frames; i < frames; i++, at += 3) {
      const low = bytes.charCodeAt(at) | (bytes.charCodeAt(at + 1) << 8);
      plane[i] = unit * (low | ((bytes.charCodeAt(at + 2) << 24) >> 8));
    }
    return plane;
  });
  return { planes, rate, lead, length: played, coils: set.sound.coils, gains: gainsOf(set), before: 0 };
}

/**
 * Returns the gains of the files and what peaked before them, or null where the page's sound has not their levels.
 *
 * @param {SetData} set
 * @returns {Sound["gains"]}
 */
function gainsOf(set) {
  const levels = set.voices.flatMap(({ true_db: own, matched_db: matched, peak_dbtp: peak }) => (
    own === null ? [] : [{ own, matched: matched ?? own, peak: peak === null ? -Infinity : peak - own }]));
  if (set.has_hum || levels.length < set.voices.length) return null;
  /** @type {(db: number) => number} */
  const amplitude = (db) => 10 ** (db / 20);
  return {
    true: levels.map(({ own }) => amplitude(own)),
    matched: levels.map(({ matched }) => amplitude(matched)),
    peaks: levels.map(({ peak }) => amplitude(peak)),
  };
}

/**
 * Returns the sound of a file at `rate`, decoded by the browser, with what was left out of it in words.
 *
 * @param {File} file
 * @param {number} rate
 * @returns {Promise<{ sound: Sound, left: string[] }>}
 */
async function ownSound(file, rate) {
  if (file.size > LARGEST) throw new Error(`it has ${Math.round(file.size / 1e6)} MB; this page takes up to ${LARGEST / 1e6} MB`);
  let buffer;
  try {
    const decoder = new OfflineAudioContext({ numberOfChannels: 1, length: 1, sampleRate: rate });
    buffer = await decoder.decodeAudioData(await file.arrayBuffer());
  } catch {
    throw new Error("it is not a sound that this browser can decode");
  }
  if (buffer.length === 0) throw new Error("it holds no sound");
  const left = [];
  const length = Math.min(buffer.length, LONGEST * rate);
  if (length < buffer.length) left.push(`its first ${LONGEST / 60} minutes`);
  if (buffer.numberOfChannels > 2) left.push(`the first two of its ${buffer.numberOfChannels} channels`);
  const planes = Array.from({ length: Math.min(2, buffer.numberOfChannels) },
    (_, channel) => buffer.getChannelData(channel).slice(0, length));
  for (const plane of planes) {
    if (!await isWhole(plane)) throw new Error("it holds samples that are no numbers");
  }
  return { sound: { planes, rate, lead: 0, length, coils: 0, gains: null, before: 0 }, left };
}

/**
 * Returns whether all samples are numbers.
 *
 * @param {Float32Array} plane
 */
async function isWhole(plane) {
  const piece = 1 << 20;
  for (let start = 0; start < plane.length; start += piece) {
    // What is no number, or infinite, makes no number of nothing.
    let nothing = 0;
    for (let i = start; i < Math.min(plane.length, start + piece); i++) nothing += plane[i] * 0;
    if (nothing !== 0) return false;
    await pause();
  }
  return true;
}
