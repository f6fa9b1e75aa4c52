// A check from outside. `#check` lays the mixer and what renders it offline open as `globalThis.bench`, for tests in a
// browser that is driven. More is asked for by `#check={"voices":["series"],"turned":{"volume":5},"amp":"edge"}`, as a component of
// an address, each part optional: what the page makes of the sound that it carries is then written into the document,
// as JSON with 32-bit floats in base64, one text a channel. The program's tests compare it with the files.

/**
 * Does what the address asks for.
 *
 * @param {Mixer} mixer
 */
async function check(mixer) {
  const open = { bench: { mixer, rendered, aligned, loudnessOf, settled: () => settled(mixer) } };
  if (location.hash === "#check") Object.assign(globalThis, open);
  if (!location.hash.startsWith("#check=")) return;
  const wanted = JSON.parse(decodeURIComponent(location.hash.slice(7)));
  if (wanted.turned) mixer.turn({ ...mixer.turned, ...wanted.turned });
  const { amplifier } = mixer.set;
  const setting = wanted.amp === undefined || !amplifier ? null : amplifier.settings.findIndex(({ name }) => name === wanted.amp);
  mixer.amplify(setting);
  await settled(mixer);
  const { sound } = mixer;
  if (!sound) throw new Error("no sound is in the mixer");
  /** @type {{ rate_hz: number, voices: Record<string, { gains: Record<string, number>, planes: string[] }> }} */
  const result = { rate_hz: sound.rate, voices: {} };
  for (const [i, { name }] of mixer.set.voices.entries()) {
    if (wanted.voices && !wanted.voices.includes(name)) continue;
    const { kernels } = mixer.now[i];
    if (!kernels) throw new Error(`${name} has no kernels`);
    /** @type {Record<string, number>} */
    const gains = {};
    for (const levels of ["matched", "true"]) {
      mixer.matched = levels === "matched";
      gains[levels] = (setting === null ? mixer.currentGains() : mixer.behind.gains())[i];
    }
    const planes = setting === null ? await rendered(sound, mixer.set.voices[i].section, aligned(kernels, sound.before))
      : mixer.behind.tape(i)?.planes.map((plane) => plane.slice(sound.lead, sound.lead + sound.length));
    if (!planes) throw new Error(`${name} is not there behind the amplifier`);
    result.voices[name] = { gains, planes: planes.map(textOf) };
  }
  const script = made("script", "", JSON.stringify(result));
  script.type = "application/json";
  script.id = "checked";
  document.body.append(script);
}

/**
 * Waits until all voices are as the knobs stand.
 *
 * @param {Mixer} mixer
 */
async function settled(mixer) {
  while (mixer.working || mixer.resting || mixer.next()) await pause();
}

/** @param {Float32Array} samples */
function textOf(samples) {
  const bytes = new Uint8Array(samples.buffer, samples.byteOffset, samples.byteLength);
  let text = "";
  for (let at = 0; at < bytes.length; at += 32768) text += String.fromCharCode(...bytes.subarray(at, at + 32768));
  return btoa(text);
}
