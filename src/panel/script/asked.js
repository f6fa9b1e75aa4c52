// @ts-check
// What the program is asked for, and how its answers are read.

/** What of the guitar is shown. */
export const search = () => new URLSearchParams(location.search);

/**
 * Asks the program, and refuses with its words.
 *
 * @param {string} what
 * @param {Record<string, string>} more
 */
export async function asked(what, more = {}) {
  const wanted = search();
  for (const [name, value] of Object.entries(more)) wanted.set(name, value);
  const answer = await fetch(`${location.pathname}${what}?${wanted}`);
  if (!answer.ok) throw new Error(answer.status === 422 ? await answer.text() : "the panel does not answer");
  return answer;
}

/**
 * Sends a take, and returns the program's answer.
 *
 * @param {Blob} take
 * @param {string} name
 * @param {Record<string, string>} more
 */
export async function sent(take, name, more = {}) {
  if (take.size > 2 ** 31) throw new Error(`${name} is larger than 2 GiB: cut out the part that you want to hear`);
  return posted("take", take, { name, ...more });
}

/**
 * Sends a sound, and returns the program's answer.
 *
 * @param {string} what
 * @param {Blob | Float32Array<ArrayBuffer>} sound
 * @param {Record<string, string>} more
 */
export async function posted(what, sound, more) {
  const answer = await fetch(`${location.pathname}${what}?${new URLSearchParams(more)}`, {
    method: "POST", headers: { "content-type": "application/octet-stream" }, body: sound,
  });
  const words = await answer.text();
  if (!answer.ok) throw new Error(words || "the take was not taken");
  return words;
}

/**
 * Reads a head and floats behind it.
 *
 * @param {Response} answer
 */
export async function floats(answer) {
  const bytes = await answer.arrayBuffer();
  const length = new DataView(bytes).getUint32(0, true);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(bytes, 4, length)));
  let at = 4 + length;
  /** @type {Float32Array<ArrayBuffer>[]} */
  const lists = head.lengths.map((/** @type {number} */ floats) => {
    const list = new Float32Array(bytes.slice(at, at + 4 * floats));
    at += 4 * floats;
    return list;
  });
  return { head, lists };
}
