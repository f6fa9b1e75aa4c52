// @ts-check
// The elements that the program made, and what is said where something did not work.

/**
 * Returns the element called `id`.
 *
 * @template {Element} E
 * @param {string} id
 * @param {new () => E} kind
 * @returns {E}
 */
export function the(id, kind) {
  const found = document.getElementById(id);
  if (!(found instanceof kind)) throw new Error(`the page has no ${id}`);
  return found;
}

/** Says what did not work; nothing takes it back. @type {(words: string) => void} */
export function trouble(words) {
  const told = document.getElementById("sound-trouble");
  if (!told) return;
  told.hidden = words === "";
  told.textContent = words;
}

/** Does some work, and says where it did not work. @type {(work: () => Promise<void>) => void} */
export const tried = (work) => { work().catch((error) => trouble(error instanceof Error ? error.message : String(error))); };
