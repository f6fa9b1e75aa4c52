// @ts-check
"use strict";
// Sends what is changed, and puts the parts of the page that have become different by it in the place of the old ones.
// All pages come from the program; nothing is computed here.

{
  const base = document.body.dataset.base ?? "/";
  /** What tells of what a person asked for, until the next is asked for. */
  const ASKED = "[data-asked]:not([hidden])";
  /** So long a person may pause within a word before what is typed is sent. */
  const TYPING_MS = 250;

  /** @type {(text: string) => Document} */
  const parsed = (text) => new DOMParser().parseFromString(text, "text/html");

  /**
   * Puts each part of `fresh` that differs from the page's in its place. Where parts have come or gone, the whole is replaced.
   *
   * A question and a refusal of what was asked for outlast news.
   *
   * @param {Document} fresh
   * @param {boolean} isNews
   */
  function swap(fresh, isNews) {
    document.title = fresh.title;
    for (const name of ["guitar", "number", "told"]) {
      const value = fresh.body.dataset[name];
      if (value === undefined) delete document.body.dataset[name];
      else document.body.dataset[name] = value;
    }
    const isPart = "parts" in fresh.body.dataset;
    const parts = (/** @type {Document} */ of) => /** @type {HTMLElement[]} */ ([...of.querySelectorAll("[data-part]")]);
    const [old, now] = [parts(document), parts(fresh)];
    const names = (/** @type {HTMLElement[]} */ of) => of.map((part) => part.dataset.part).join("\n");
    const kept = focus();
    // What a person has opened stays open.
    const open = new Set([...document.querySelectorAll("details[open]")].map(nameOf));
    for (const details of fresh.querySelectorAll("details")) {
      if (open.has(nameOf(details))) details.open = true;
    }
    if (isPart) {
      for (const part of now) {
        const own = old.find((other) => other.dataset.part === part.dataset.part);
        if (own && !own.isEqualNode(part)) replace(own, part);
      }
    } else if (names(old) === names(now)) {
      old.forEach((part, i) => {
        const stays = isNews && part.querySelector(ASKED) && !now[i].querySelector(ASKED);
        if (!stays && !part.isEqualNode(now[i])) replace(part, now[i]);
      });
    } else {
      const [main, other] = [document.querySelector("main"), fresh.querySelector("main")];
      if (main && other) main.replaceChildren(...other.childNodes);
    }
    tellSaved(document.getElementById("saved")?.textContent === "saving");
    kept();
    document.dispatchEvent(new CustomEvent("swapped", { detail: { isPart } }));
  }

  /** The number of the guitar's change that was last told to be saved, which may be before the page that has it is there. */
  let lastSaved = 0;
  /** @param {boolean} isAwaited */
  function tellSaved(isAwaited) {
    const saved = document.getElementById("saved");
    if (saved && isAwaited && lastSaved === Number(document.body.dataset.number)) saved.textContent = "saved";
  }

  /** @type {(details: Element) => string} */
  const nameOf = (details) => {
    const part = details.closest("[data-part]");
    return [details.closest("[id]")?.id, part?.getAttribute("data-part"), details.querySelector("summary")?.textContent].join(" ");
  };

  /**
   * Replaces a part. A field keeps the element in which its value is entered, so that news never takes it from under the
   * person's hands, and with it what was not sent yet.
   *
   * @param {HTMLElement} part
   * @param {HTMLElement} fresh
   */
  function replace(part, fresh) {
    const [entry, other] = [part, fresh].map((of) => of.querySelector(":is(input, select, textarea)[data-place]"));
    if (!entry || !other || entry.tagName !== other.tagName) {
      part.replaceWith(fresh);
      return;
    }
    part.className = fresh.className;
    for (const of of ["label", ".reads", ".told"]) {
      const [own, now] = [part.querySelector(of), fresh.querySelector(of)];
      if (own && now && !own.isEqualNode(now)) own.replaceWith(now);
    }
    for (const name of ["aria-invalid", "placeholder", "rows"]) {
      const value = other.getAttribute(name);
      if (value === null) entry.removeAttribute(name);
      else if (entry.getAttribute(name) !== value) entry.setAttribute(name, value);
    }
    const place = entry instanceof HTMLElement ? entry.dataset.place ?? "" : "";
    // What is being typed here is news itself.
    if (pending.has(place) || values.has(place)) return;
    if (entry instanceof HTMLSelectElement && other instanceof HTMLSelectElement) {
      if (entry.innerHTML !== other.innerHTML) {
        // Where the chosen entry leaves a list, that list chooses another of its own.
        const { selectedIndex } = other;
        entry.replaceChildren(...other.childNodes);
        entry.selectedIndex = selectedIndex;
      }
    } else if ("value" in entry && "value" in other && entry.value !== other.value) {
      entry.value = other.value;
    }
    if (other instanceof HTMLInputElement) entry.setAttribute("value", other.defaultValue);
    if (other instanceof HTMLTextAreaElement && entry.textContent !== other.textContent) entry.textContent = other.textContent;
  }

  /** Remembers where the focus is, and returns what gives it back. */
  function focus() {
    const active = document.activeElement;
    if (!(active instanceof HTMLElement || active instanceof SVGElement) || !active.id) return () => {};
    const { id } = active;
    const isText = active instanceof HTMLInputElement && active.type === "text" || active instanceof HTMLTextAreaElement;
    const range = isText ? [active.selectionStart, active.selectionEnd] : null;
    const value = isText ? active.value : null;
    return () => {
      const now = document.getElementById(id);
      if (!now || now === document.activeElement) return;
      now.focus({ preventScroll: true });
      if (range && (now instanceof HTMLInputElement || now instanceof HTMLTextAreaElement)) {
        if (value !== null && pending.size > 0) now.value = value;
        now.setSelectionRange(range[0], range[1]);
      }
    };
  }

  /** @type {(words: string) => void} */
  function say(words) {
    const said = document.getElementById("said");
    if (said) said.textContent = words;
  }

  /** Requests are numbered; the answer to one that another has overtaken is dropped. */
  let asked = 0;
  /** Where a page is on its way, what else is wished for waits: values first, then what was pressed, in its order, then news. */
  let isBusy = false;
  /** @type {(() => Promise<void>)[]} */
  const waiting = [];
  let isStale = false;
  /** Whether a person wants to see what no request is on its way for: of several wishes the last counts. */
  let isWished = false;

  /** @param {(() => Promise<void>) | null} work */
  async function inTurn(work) {
    if (work) waiting.push(work);
    if (isBusy) return;
    isBusy = true;
    try {
      for (;;) {
        const pressed = values.size > 0 ? sendAll : waiting.shift();
        if (pressed) {
          await pressed();
        } else if (isWished) {
          isWished = false;
          await fetched(here(), null);
        } else if (isStale && !isHeld() && underway === 0) {
          isStale = false;
          await fetched(here(), null, true);
        } else {
          return;
        }
      }
    } finally {
      isBusy = false;
    }
  }

  /** Whether something is in a person's hand, from which news takes nothing. */
  const isHeld = () => "held" in document.body.dataset;
  document.addEventListener("released", () => inTurn(null).catch(failed));
  // What is put down is told at once, whatever is on its way; news of it, which may come before the answer, waits for that.
  let underway = 0;
  document.addEventListener("put", (event) => {
    if (!(event instanceof CustomEvent)) return;
    const { action, form } = event.detail;
    underway += 1;
    fetched(action + location.search, new URLSearchParams(form)).catch(failed).finally(() => {
      underway -= 1;
      inTurn(null).catch(failed);
    });
  });

  /** The address of the page, with what is shown of the guitar. */
  const here = () => location.pathname + location.search;

  /**
   * Asks for a page and puts it in the place of this one.
   *
   * @param {string} address
   * @param {URLSearchParams | null} form
   * @param {boolean} isNews
   */
  async function fetched(address, form, isNews = false) {
    const own = (asked += 1);
    // What stands there is of before this change.
    const saved = document.getElementById("saved");
    if (form && saved) saved.textContent = "saving";
    const answer = await fetch(address, form ? { method: "POST", body: form } : {});
    const text = await answer.text();
    if (answer.redirected) {
      location.assign(answer.url);
      return;
    }
    // What is no longer wanted is not put in the place of what a person has chosen meanwhile.
    if (own !== asked || isWished && !form) return;
    if (isNews && isHeld()) {
      isStale = true;
      return;
    }
    swap(parsed(text), isNews);
    const trouble = document.querySelector("#summary .notice");
    const verdict = document.querySelector("[data-said]");
    say(trouble?.textContent?.trim() ?? verdict?.textContent ?? document.getElementById("saved")?.textContent ?? "");
  }

  /** @type {(error: unknown) => void} */
  const failed = () => {
    const ended = document.getElementById("ended");
    if (ended) ended.hidden = false;
  };

  /** What was typed and not sent yet, by place. @type {Map<string, number>} */
  const pending = new Map();
  /** What waits to be sent, by place: of one value the last counts, of several each. @type {Map<string, string>} */
  const values = new Map();

  /**
   * Sends the value at `place`.
   *
   * @param {string} place
   * @param {string} value
   */
  function send(place, value) {
    clearTimeout(pending.get(place));
    pending.delete(place);
    values.set(place, value);
    inTurn(null).catch(failed);
  }

  async function sendAll() {
    while (values.size > 0) {
      const [place, value] = /** @type {[string, string]} */ (values.entries().next().value);
      values.delete(place);
      await fetched(`${location.pathname}set${location.search}`, new URLSearchParams({ place, value }));
    }
  }

  document.addEventListener("input", ({ target }) => {
    if (!(target instanceof HTMLInputElement || target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement)) return;
    const { place } = target.dataset;
    if (!place) return;
    if (target.type === "range") {
      send(place, target.value);
      return;
    }
    clearTimeout(pending.get(place));
    pending.set(place, setTimeout(() => send(place, target.value), TYPING_MS));
  });

  document.addEventListener("change", ({ target }) => {
    if (!(target instanceof HTMLInputElement || target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement)) return;
    const { place } = target.dataset;
    if (place) {
      if (pending.has(place) || target instanceof HTMLSelectElement) send(place, target.value);
    } else if ("go" in target.dataset && target.form) {
      go(target.form);
    } else if ("ask" in target.dataset && target.form) {
      const form = target.form;
      const answers = new URLSearchParams(/** @type {any} */ (new FormData(form)));
      inTurn(() => fetched(`${form.dataset.ask}?${answers}`, null)).catch(failed);
    }
  });

  /**
   * Shows what a form asks to see.
   *
   * @param {HTMLFormElement} form
   */
  function go(form) {
    const wanted = new URLSearchParams(/** @type {any} */ (new FormData(form)));
    const address = `${new URL(form.action).pathname}?${wanted}`;
    history.replaceState(null, "", address);
    keep();
    isWished = true;
    inTurn(null).catch(failed);
  }

  // What is chosen at Hear is what one comes back to from another place.
  const HEAR = "/hear/";
  function keep() {
    if (location.pathname.endsWith(HEAR) && location.search) sessionStorage.setItem(location.pathname, location.search);
  }
  keep();
  document.addEventListener("click", ({ target }) => {
    const link = target instanceof Element ? target.closest("a") : null;
    if (link?.pathname.endsWith(HEAR) && !link.search) link.search = sessionStorage.getItem(link.pathname) ?? "";
  });

  const sections = () => new Set([...document.querySelectorAll("section.part")].map(({ id }) => id));

  /**
   * Leads to the part that a form has added, or where it has taken one out to what stands there now.
   *
   * @param {HTMLFormElement} form
   * @param {Set<string>} before
   */
  function follow(form, before) {
    const added = [...sections()].find((id) => !before.has(id));
    const part = added ? document.getElementById(added) : null;
    if (part) {
      part.scrollIntoView({ block: "start" });
      const field = part.querySelector("input, select, textarea");
      if (field instanceof HTMLElement) field.focus({ preventScroll: true });
    } else if (form.classList.contains("remove") && !form.isConnected) {
      document.getElementById("main")?.focus({ preventScroll: true });
    }
  }

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!(form instanceof HTMLFormElement)) return;
    // The browser's own way of sending a form does not say from where it comes.
    event.preventDefault();
    if (form.method === "get") {
      go(form);
      return;
    }
    const answers = new URLSearchParams(/** @type {any} */ (new FormData(form, event.submitter)));
    const before = sections();
    inTurn(async () => {
      await fetched(new URL(form.action).pathname + location.search, answers);
      follow(form, before);
    }).catch(failed);
  });

  document.addEventListener("click", ({ target }) => {
    if (!(target instanceof HTMLElement)) return;
    const button = target.closest("button");
    const write = button?.dataset.write;
    if (!button || write === undefined) return;
    const { place, fill } = button.dataset;
    if (place) {
      const field = document.querySelector(`[data-place="${CSS.escape(place)}"]:not(button)`);
      if (field instanceof HTMLInputElement) {
        field.value = write;
        field.focus();
      }
      send(place, write);
    } else if (fill) {
      const field = document.getElementById(fill);
      if (field instanceof HTMLInputElement) {
        field.value = write;
        field.focus();
      }
    }
  });

  document.addEventListener("keydown", (event) => {
    const isUndo = (event.ctrlKey || event.metaKey) && !event.altKey && event.key.toLowerCase() === "z";
    const { target } = event;
    // Within a text the browser's own undo is at hand, and what is in hand is put back first.
    if (!isUndo || event.defaultPrevented || document.body.dataset.held !== undefined || target instanceof HTMLTextAreaElement || target instanceof HTMLInputElement && target.type === "text") return;
    const button = document.getElementById(event.shiftKey ? "redo" : "undo");
    if (button instanceof HTMLButtonElement && !button.disabled) {
      event.preventDefault();
      button.click();
    }
  });

  // What happens in other windows and on the disk.
  let events = new EventSource(`${base}events`);
  /** @param {MessageEvent<string>} event */
  function told(event) {
    const happened = JSON.parse(event.data);
    const { guitar, number, told: known } = document.body.dataset;
    // What happened before this window listened, or while the machine slept, was not told.
    const isBehind = happened.told !== undefined && known !== undefined && happened.told !== Number(known);
    if (happened.saved !== undefined && happened.saved === guitar) {
      lastSaved = happened.number;
      tellSaved(true);
    }
    const isOwn = happened.guitar !== undefined && happened.guitar === guitar;
    const isNews = happened.all || isBehind || isOwn || (guitar === undefined && known !== undefined);
    // A whole text that is being written is not replaced under the person's hands.
    if (!isNews || document.querySelector("textarea.whole")) return;
    if (isOwn && happened.number < Number(number)) return;
    isStale = true;
    inTurn(null).catch(failed);
  }
  function listen() {
    events.addEventListener("message", told);
    events.addEventListener("open", () => {
      const ended = document.getElementById("ended");
      if (ended) ended.hidden = true;
    });
    events.addEventListener("error", failed);
  }
  listen();
  // A page that is kept for going back has given up its connection.
  addEventListener("pageshow", ({ persisted }) => {
    if (!persisted) return;
    events.close();
    events = new EventSource(`${base}events`);
    listen();
    inTurn(() => fetched(here(), null)).catch(failed);
  });
  addEventListener("pagehide", () => {
    for (const [place] of pending) {
      const field = document.querySelector(`[data-place="${CSS.escape(place)}"]:not(button)`);
      if (!(field instanceof HTMLInputElement || field instanceof HTMLTextAreaElement)) continue;
      const form = new URLSearchParams({ place, value: field.value });
      fetch(`${location.pathname}set`, { method: "POST", body: form, keepalive: true }).catch(() => {});
    }
    pending.clear();
    events.close();
  });
}
