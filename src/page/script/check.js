// A check from outside. `#check` lays the desk and what renders it offline open as `globalThis.bench`, for tests in a
// browser that is driven. More is asked for by the address: `#check={"voices":["series"],"turned":{"volume":5},"levels":"true"}`
// writes what the page makes of the sound that it carries into the document, as JSON with 32-bit floats in base64, one
// text a channel. The program's tests compare it with the files.

/** Does what the address asks for. */
async function check(desk) {
  if (location.hash === "#check") globalThis.bench = { desk, rendered, aligned };
  if (!location.hash.startsWith("#check=")) return;
  // A browser that is only to print the document ends when no timer is left; rendering offline does not hold it.
  const beat = setInterval(() => {}, 1);
  const wanted = JSON.parse(decodeURIComponent(location.hash.slice(7)));
  if (wanted.levels) desk.matched = wanted.levels === "matched";
  if (wanted.turned) desk.turned = { ...desk.turned, ...wanted.turned };
  desk.now.forEach((voice) => { voice.stale = true; });
  desk.now.forEach((_, i) => desk.refresh(i));
  const result = { rate_hz: desk.sound.rate, voices: {} };
  for (const [i, { name }] of desk.set.voices.entries()) {
    if (wanted.voices && !wanted.voices.includes(name)) continue;
    const gain = desk.currentGains()[i];
    const planes = await rendered(desk.sound, desk.voices[i], aligned(desk.now[i].kernels, desk.sound.before));
    result.voices[name] = { gain, planes: planes.map(textOf) };
  }
  const script = made("script", "", JSON.stringify(result));
  script.type = "application/json";
  script.id = "checked";
  document.body.append(script);
  clearInterval(beat);
}

function textOf(samples) {
  const bytes = new Uint8Array(samples.buffer, samples.byteOffset, samples.byteLength);
  let text = "";
  for (let at = 0; at < bytes.length; at += 32768) text += String.fromCharCode(...bytes.subarray(at, at + 32768));
  return btoa(text);
}
