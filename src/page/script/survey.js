// Looks through a survey: sifts, sorts and lists its circuits. Text only ever enters as text. What is looked for stands
// behind the address's #, so that it can be kept as a bookmark.

const STEP = 100;
const HUMS = -20;
/** @type {SurveyData} */
const { kept, circuits } = JSON.parse(byId("survey", HTMLElement).textContent);
/** @type {(id: string) => HTMLElement} */
const at = (id) => byId(id, HTMLElement);
/** @type {(id: "hum" | "phase" | "like") => HTMLSelectElement} */
const choice = (id) => byId(id, HTMLSelectElement);
/** @type {(id: "words" | "groups") => HTMLInputElement} */
const input = (id) => byId(id, HTMLInputElement);

/**
 * Returns a number with a true minus sign, or a dash for none.
 *
 * @type {(value: number | null, digits: number) => string}
 */
const number = (value, digits) => value === null ? "–" : value.toFixed(digits).replace(/^-(?=0(\.0*)?$)/, "").replace("-", "−");

/**
 * The columns: heading, what is sorted by, what is shown; numbers stand at the right.
 *
 * @type {SurveyColumn[]}
 */
const COLUMNS = [
  { title: "position", key: (c) => c.title, show: (c) => c.title },
  { title: "resonance kHz", key: (c) => c.resonance, show: (c) => number(c.resonance === null ? null : c.resonance / 1000, 2) },
  { title: "Q", key: (c) => c.q, show: (c) => number(c.q, 2) },
  { title: "level dB", key: (c) => c.level, show: (c) => number(c.level, 1) },
  { title: "hum dB", key: (c) => c.hum ?? -999, show: (c) => c.hum === null ? "≈ −30" : number(c.hum, 1) },
  { title: "sounds like", key: (c) => kept.indexOf(c.nearest ?? ""), show: (c) => c.nearest === null ? "silent" : c.nearest === c.name ? "kept" : `no. ${kept.indexOf(c.nearest) + 1}` },
  { title: "off dB", key: (c) => c.off, show: (c) => number(c.off, 1) },
];
/**
 * Where circuits stand, and which of them; those out of phase apart from the others.
 *
 * @type {[title: string, holds: (circuit: SurveyCircuit) => boolean][]}
 */
const GROUPS = [["In phase", (c) => c.phase], ["Out of phase", (c) => !c.phase]];

/** @type {{ column: number | null, up: boolean }} */
const sorting = { column: null, up: true };
let limit = STEP;

/**
 * Returns a name that breaks between its parts and nowhere else.
 *
 * @type {(name: string) => HTMLElement}
 */
const parted = (name) => made("span", "parted", ...broken(name));

/**
 * Returns what is shown of a circuit: what it is, and below its name, with the combinations that are the same circuit,
 * listed when asked for.
 *
 * @param {SurveyCircuit} circuit
 */
function named(circuit) {
  const title = made("bdi", "title", circuit.title);
  const more = circuit.combinations.length;
  if (more === 1) return [title, made("span", "key", parted(circuit.name))];
  const details = made("details", "key", made("summary", "", parted(circuit.name), " ", made("span", "small", `· ${more} combinations`)));
  details.addEventListener("toggle", () => {
    if (details.querySelector("ul")) return;
    details.append(made("ul", "", ...circuit.combinations.map((name) => made("li", "", parted(name)))));
  });
  return [title, details];
}

/** @param {SurveyCircuit} circuit */
function row(circuit) {
  const head = made("th", "", ...named(circuit));
  head.scope = "row";
  const cells = COLUMNS.slice(1).map((column) => made("td", "n", column.show(circuit)));
  return made("tr", circuit.nearest === circuit.name ? "kept" : "", head, ...cells);
}

/**
 * Returns the heading of a group of rows.
 *
 * @param {string} title
 */
function groupHead(title) {
  const head = made("th", "", title);
  head.scope = "rowgroup";
  head.colSpan = COLUMNS.length;
  return made("tr", "group", head);
}

function sifted() {
  const words = input("words").value.toLowerCase().split(/\s+/).filter(Boolean);
  const [hum, phase, like] = [choice("hum").value, choice("phase").value, choice("like").value];
  const groups = input("groups").checked;
  /** @type {(circuit: SurveyCircuit) => boolean} */
  const hums = (c) => c.hum !== null && c.hum > HUMS;
  return circuits.filter((c) =>
    words.every((word) => `${c.title} ${c.name}`.toLowerCase().includes(word))
    && (!hum || hums(c) === (hum === "hums"))
    && (!phase || c.phase === (phase === "in"))
    && (!like || c.nearest === like)
    && (!groups || c.group === c.name));
}

/**
 * Returns the circuits in the order asked for; what has no figure comes last either way.
 *
 * @param {SurveyCircuit[]} list
 */
function sorted(list) {
  if (sorting.column === null) return list;
  const key = COLUMNS[sorting.column].key;
  const sign = sorting.up ? 1 : -1;
  /** @type {(a: string | number, b: string | number) => number} */
  const order = (a, b) => typeof a === "number" && typeof b === "number" ? a - b
    : String(a).localeCompare(String(b), "en", { numeric: true });
  return [...list].sort((c, d) => {
    const [a, b] = [key(c), key(d)];
    if (a === null || b === null) return Number(a === null) - Number(b === null);
    return sign * order(a, b);
  });
}

function show() {
  const list = sorted(sifted());
  let left = limit;
  const rows = GROUPS.flatMap(([title, holds]) => {
    const own = list.filter(holds).slice(0, left);
    left -= own.length;
    return own.length ? [groupHead(title), ...own.map(row)] : [];
  });
  at("rows").replaceChildren(...rows);
  const combinations = list.reduce((sum, c) => sum + c.combinations.length, 0);
  const against = list.filter((c) => !c.phase).length;
  at("shown").textContent = `${list.length} of ${circuits.length} circuits, ${combinations} combinations; ${against} of the circuits are out of phase`;
  at("more").hidden = list.length <= limit;
  [...at("heads").children].forEach((head, i) => {
    if (sorting.column === i) head.setAttribute("aria-sort", sorting.up ? "ascending" : "descending");
    else head.removeAttribute("aria-sort");
  });
}

/** Shows the list from its beginning and puts what is looked for behind the address. */
function anew() {
  const sought = {
    words: input("words").value,
    hum: choice("hum").value,
    phase: choice("phase").value,
    like: String(kept.indexOf(choice("like").value) + 1 || ""),
    groups: input("groups").checked ? "1" : "",
    sort: String(sorting.column ?? ""),
    down: sorting.up ? "" : "1",
  };
  const given = Object.entries(sought).filter(([, value]) => value !== "");
  history.replaceState(null, "", `#${new URLSearchParams(given)}`);
  limit = STEP;
  show();
}

/** Sets what is looked for to what stands behind the address. */
function recall() {
  const given = new URLSearchParams(location.hash.slice(1));
  input("words").value = given.get("words") ?? "";
  choice("hum").value = given.get("hum") ?? "";
  choice("phase").value = given.get("phase") ?? "";
  choice("like").value = kept[Number(given.get("like")) - 1] ?? "";
  input("groups").checked = given.has("groups");
  const column = Number(given.get("sort") ?? NaN);
  sorting.column = COLUMNS[column] ? column : null;
  sorting.up = !given.has("down");
}

/** @param {number} column */
function sortBy(column) {
  sorting.up = sorting.column === column ? !sorting.up : true;
  sorting.column = column;
  anew();
}

COLUMNS.forEach((column, i) => {
  const button = made("button", "", column.title);
  button.type = "button";
  button.addEventListener("click", () => sortBy(i));
  const head = made("th", i ? "n" : "", button);
  head.scope = "col";
  at("heads").append(head);
});
const titles = new Map(circuits.map((c) => [c.name, c.title]));
kept.forEach((name, i) => {
  const option = made("option", "", `${i + 1} ${titles.get(name)} · ${name}`);
  option.value = name;
  at("like").append(option);
});
at("sieve").addEventListener("submit", (event) => event.preventDefault());
at("sieve").addEventListener("input", anew);
at("more").addEventListener("click", () => { limit += STEP; show(); });
// Paper has no button to ask for more.
let limitBefore = limit;
addEventListener("beforeprint", () => { limitBefore = limit; limit = circuits.length; show(); });
addEventListener("afterprint", () => { limit = limitBefore; show(); });
recall();
show();
