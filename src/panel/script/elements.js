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

/** Says what did not work, in the notice called `id`, which is where that was asked for; nothing takes it back. @type {(words: string, id?: string) => void} */
export function trouble(words, id = "sound-trouble") {
  const told = document.getElementById(id);
  if (!told) return;
  told.hidden = words === "";
  told.textContent = words;
}

/** Does some work, and says where it did not work. @type {(work: () => Promise<void>, id?: string) => void} */
export const tried = (work, id) => { work().catch((error) => trouble(error instanceof Error ? error.message : String(error), id)); };

/**
 * Does some work with each file that is chosen in one of these inputs, or dropped on the page; the notice called `told` says where it
 * did not work.
 *
 * @param {string[]} ids
 * @param {(file: File) => Promise<void>} work
 * @param {string} [told]
 */
export function added(ids, work, told) {
  const begin = (/** @type {File} */ file) => {
    trouble("", told);
    tried(() => work(file), told);
  };
  const choose = (/** @type {EventTarget | null} */ input) => {
    if (!(input instanceof HTMLInputElement) || !ids.includes(input.id) || !input.files?.[0]) return;
    const [file] = input.files;
    // The same one can be chosen again.
    input.value = "";
    begin(file);
  };
  document.addEventListener("change", ({ target }) => choose(target));
  document.addEventListener("dragover", (event) => event.preventDefault());
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    const file = event.dataTransfer?.files[0];
    if (file) begin(file);
  });
  // What was chosen before this listened.
  for (const id of ids) choose(document.getElementById(id));
}
