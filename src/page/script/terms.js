// Terms that explain themselves: a note opens beside the word that is pressed.

/** Puts each note beside its word when it opens. */
function placeNotes() {
  document.addEventListener("click", ({ target }) => {
    const word = target instanceof Element && target.closest("[popovertarget]");
    const note = word && document.getElementById(word.getAttribute("popovertarget") ?? "");
    if (!note || !("showPopover" in note)) return;
    const box = word.getBoundingClientRect();
    const width = Math.min(320, document.documentElement.clientWidth - 24);
    const left = Math.max(12, Math.min(box.left, document.documentElement.clientWidth - width - 12));
    const isLow = box.bottom > window.innerHeight - 180;
    Object.assign(note.style, { width: `${width}px`, left: `${left}px`, right: "auto", margin: "0",
      top: isLow ? "auto" : `${box.bottom + 6}px`, bottom: isLow ? `${window.innerHeight - box.top + 6}px` : "auto" });
  }, { capture: true });
}
