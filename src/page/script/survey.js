// Looks through a survey: sifts, sorts and lists its circuits. Text only ever enters as text. What is looked for stands
// behind the address's #, so that it can be kept as a bookmark.

const STEP = 100;
const HUMS = -20;
const { kept, circuits } = JSON.parse(document.getElementById("survey").textContent);
const at = (id) => document.getElementById(id);

/** Returns a number with a true minus sign, or a dash for none. */
const number = (value, digits) => value === null ? "–" : value.toFixed(digits).replace(/^-(?=0(\.0*)?$)/, "").replace("-", "−");

/** The columns: heading, what is sorted by, what is shown; numbers stand at the right. */
const COLUMNS = [
  { title: "position", key: (c) => c.name, show: null },
  { title: "resonance kHz", key: (c) => c.resonance, show: (c) => number(c.resonance === null ? null : c.resonance / 1000, 2), right: true },
  { title: "Q", key: (c) => c.q, show: (c) => number(c.q, 2), right: true },
  { title: "level dB", key: (c) => c.level, show: (c) => number(c.level, 1), right: true },
  { title: "hum dB", key: (c) => c.hum ?? -999, show: (c) => c.hum === null ? "cancels" : number(c.hum, 1), right: true },
  { title: "strings", key: (c) => c.phase ? "in phase" : "against", show: (c) => c.phase ? "in phase" : "against" },
  { title: "sounds like", key: (c) => kept.indexOf(c.nearest), show: (c) => c.nearest === null ? "silent" : c.nearest === c.name ? "kept" : `no. ${kept.indexOf(c.nearest) + 1}`, right: true },
  { title: "off dB", key: (c) => c.off, show: (c) => number(c.off, 1), right: true },
];

const sorting = { column: null, up: true };
let limit = STEP;

/** Returns a name that breaks between its parts and nowhere else. */
const parted = (name) => made("span", "parted", ...broken(name));

/** Returns what is shown of a circuit's name: with the combinations that are the same circuit, listed when asked for. */
function named(circuit) {
  if (circuit.combinations.length === 1) return parted(circuit.name);
  const more = circuit.combinations.length;
  const details = made("details", "", made("summary", "", parted(circuit.name), " ", made("span", "small", `· ${more} combinations`)));
  details.addEventListener("toggle", () => {
    if (details.querySelector("ul")) return;
    details.append(made("ul", "", ...circuit.combinations.map((name) => made("li", "", parted(name)))));
  });
  return details;
}

function row(circuit) {
  const head = made("th", "", named(circuit));
  head.scope = "row";
  const cells = COLUMNS.slice(1).map((column) => made("td", column.right ? "n" : "", column.show(circuit)));
  return made("tr", circuit.nearest === circuit.name ? "kept" : "", head, ...cells);
}

function sifted() {
  const words = at("words").value.toLowerCase().split(/\s+/).filter(Boolean);
  const [hum, phase, like, groups] = [at("hum").value, at("phase").value, at("like").value, at("groups").checked];
  const hums = (c) => c.hum !== null && c.hum > HUMS;
  return circuits.filter((c) =>
    words.every((word) => c.name.toLowerCase().includes(word))
    && (!hum || hums(c) === (hum === "hums"))
    && (!phase || c.phase === (phase === "in"))
    && (!like || c.nearest === like)
    && (!groups || c.group === c.name));
}

/** Returns the circuits in the order asked for; what has no figure comes last either way. */
function sorted(list) {
  if (sorting.column === null) return list;
  const key = COLUMNS[sorting.column].key;
  const sign = sorting.up ? 1 : -1;
  const order = (a, b) => typeof a === "string" ? a.localeCompare(b, "en", { numeric: true }) : a - b;
  return [...list].sort((c, d) => {
    const [a, b] = [key(c), key(d)];
    if (a === null || b === null) return (a === null) - (b === null);
    return sign * order(a, b);
  });
}

function show() {
  const list = sorted(sifted());
  at("rows").replaceChildren(...list.slice(0, limit).map(row));
  const combinations = list.reduce((sum, c) => sum + c.combinations.length, 0);
  at("shown").textContent = `${list.length} of ${circuits.length} circuits, ${combinations} combinations`;
  at("more").hidden = list.length <= limit;
  [...at("heads").children].forEach((head, i) => {
    if (sorting.column === i) head.setAttribute("aria-sort", sorting.up ? "ascending" : "descending");
    else head.removeAttribute("aria-sort");
  });
}

/** Shows the list from its beginning and puts what is looked for behind the address. */
function anew() {
  const sought = {
    words: at("words").value,
    hum: at("hum").value,
    phase: at("phase").value,
    like: kept.indexOf(at("like").value) + 1 || "",
    groups: at("groups").checked ? "1" : "",
    sort: sorting.column ?? "",
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
  for (const id of ["words", "hum", "phase"]) at(id).value = given.get(id) ?? "";
  at("like").value = kept[Number(given.get("like")) - 1] ?? "";
  at("groups").checked = given.has("groups");
  const column = Number(given.get("sort") ?? NaN);
  sorting.column = COLUMNS[column] ? column : null;
  sorting.up = !given.has("down");
}

function sortBy(column) {
  sorting.up = sorting.column === column ? !sorting.up : true;
  sorting.column = column;
  anew();
}

COLUMNS.forEach((column, i) => {
  const button = made("button", "", column.title);
  button.type = "button";
  button.addEventListener("click", () => sortBy(i));
  const head = made("th", column.right ? "n" : "", button);
  head.scope = "col";
  at("heads").append(head);
});
kept.forEach((name, i) => {
  const option = made("option", "", `${i + 1} ${name}`);
  option.value = name;
  at("like").append(option);
});
at("sieve").addEventListener("submit", (event) => event.preventDefault());
at("sieve").addEventListener("input", anew);
at("more").addEventListener("click", () => { limit += STEP; show(); });
recall();
show();
