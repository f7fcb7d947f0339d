// Yard: a row for every track, what a touch does to them, and the same on the drawing.
const ROWS = new Map(), DRAWN = new Map(), EXTRA = {};
const LONGEST = Math.max(...[data.blocks, ...data.states.map((state) => state.trains)].flat().map((one) => one.length ?? 0), 0.001);
const share = (length) => `${Math.min(100, (length / LONGEST) * 100)}cqi`;

// Whether a chip of this name shows a row.
function shown(name, row) {
  const sorts = { all: true, "with a train": row.trains.length > 0, asleep: row.power !== "on", "not meant": row.intended === false };
  return sorts[name] ?? [`board ${row.channel?.split(".")[0]}`, `district ${row.home}`].includes(name);
}

function yardScreen(section) {
  hear(section, "[data-state]", (one) => change({ state: Number(one.dataset.state), moved: {} }));
  hear(section, "[data-show]", (one) => change({ show: one.dataset.show }));
  hear(section, ".track", (one) => touch(one.dataset.name));
  for (const item of section.querySelectorAll("[data-row]")) {
    const [control, word, trains, rails] = [".track", ".word", ".trains", ".rails"].map((one) => item.querySelector(one));
    const { block, length } = BLOCK.get(item.dataset.row);
    if (length !== null) rails.style.width = share(length);
    ROWS.set(block, { item, control, word, trains, shows: "" });
  }
  takeDrawing();
}

function takeDrawing() {
  for (const drawn of document.querySelectorAll('svg.bc-drawing [data-kind="block"]')) {
    drawn.addEventListener("click", () => touch(drawn.dataset.name));
    DRAWN.set(drawn.dataset.name, [...(DRAWN.get(drawn.dataset.name) ?? []), drawn]);
  }
}

// A touch opens what isolates a track, or closes it again; a rotary switch is turned to it.
function touch(name) {
  const block = BLOCK.get(name), { at } = stand(chosen.state, chosen.moved);
  if (!block.opens.length) return say(block.meant.length ? `${block.meant.join(" ")} of ${name} has no position that cuts.`
    : `${name} has no isolator, so it cannot be put to sleep by itself.`);
  const asleep = block.opens.every((one) => at(one) === SWITCH.get(one).open);
  const moved = { ...chosen.moved }, before = stand(chosen.state).at;
  const set = (one, place) => (before(one) === place ? delete moved[one] : (moved[one] = place));
  const turned = data.bars.filter(({ shaft, holds }) => asleep && shaft && holds.some(({ control }) => block.opens.includes(control)));
  for (const { control } of turned.flatMap(({ holds }) => holds)) set(control, SWITCH.get(control).open);
  for (const one of block.opens) set(one, asleep ? SWITCH.get(one).closed : SWITCH.get(one).open);
  const kept = broken(stand(chosen.state, moved));
  if (kept !== null) return say(kept);
  change({ moved, block: name });
  requestAnimationFrame(() => ROWS.get(name).item.scrollIntoView({ block: "nearest" }));
}

function drawYard(told) {
  for (const name of ROWS.keys()) drawRow(name, told.rows.get(name), told);
  press("[data-state]", (chip) => Number(chip.dataset.state) === chosen.state);
  press("[data-show]", (chip) => chip.dataset.show === chosen.show);
  slip(told);
}

// A row and its place on the drawing: only where they show something else than before, since all that is touched is laid out again.
function drawRow(name, row, told) {
  const found = ROWS.get(name), trains = told.trains.filter((one) => one.block === name), words = rowWords(row, trains);
  const [hidden, marked, pressed] = [!shown(chosen.show, row), chosen.marked.includes(name), row.opens.length ? row.opens.every(told.isOpen) : null];
  const key = JSON.stringify([hidden, marked, pressed, row.power, row.intended, words, stateWord(row), trains.map((one) => one.train)]);
  if (key === found.shows && found.word.textContent === words) return;
  found.shows = key;
  found.item.hidden = hidden;
  found.control.className = ["track", row.power ?? "asked", row.intended === false ? "unmeant" : "", marked ? "marked" : ""].join(" ");
  if (pressed !== null) found.control.setAttribute("aria-pressed", String(pressed));
  found.trains.replaceChildren(...trains.map(({ train, length }) => make("span", { class: "stands" },
    length === null ? make("span", { class: "train unmeasured" }) : make("span", { class: "train", width: share(length) }), make("span", {}, train))));
  found.word.textContent = words;
  for (const drawn of DRAWN.get(name) ?? []) paint(drawn, row, marked);
}

// What stands at the right of a row: what is not meant first.
function rowWords(row, trains) {
  const mark = row.intended === false ? "not meant: " : "";
  if (row.power !== "on" || row.detection !== "working") return mark + stateWord(row);
  const reads = trains.map((one) => one.reads);
  if (!reads.length) return mark + (row.across ? "on" : "clear");
  return mark + (["occupied", null, "unknown"].find((one) => reads.includes(one)) ?? (reads.includes(null) ? "on" : "clear"));
}

// The drawing shows the same state: dashes for off, and what a reader of it hears.
function paint(drawn, row, marked) {
  for (const line of drawn.querySelectorAll("polyline.bc-track"))
    for (const state of ["off", "trickle", "unknown"]) line.classList.toggle(`bc-${state}`, state === (row.power ?? "unknown"));
  drawn.classList.toggle("marked", marked);
  drawn.querySelector("title").textContent = `${row.block}: ${stateWord(row)}`;
}

// What the state comes to, in the words of isolate.
function slip(told) {
  const box = document.querySelector(".slip"), moved = told.opened.length + told.closed.length;
  document.querySelector(".stands-now").textContent = [
    told.scenario === null ? "" : `scenario ${told.scenario}`,
    told.opened.length ? `${cut(told.opened, 6)} open` : "", told.closed.length ? `${cut(told.closed, 6)} closed` : "",
  ].filter(Boolean).join(", ") + (moved ? "; the rest as it stands" : told.scenario === null ? "as it usually stands" : "");
  const unmeant = told.unmeant.map((row) => make("li", {}, unmeantWords(row)));
  const freed = told.districts.filter((one) => one.before === null || one.before !== one.after);
  const rows = told.trains.filter((one) => told.rows.get(one.block).changed !== false);
  const trickles = [...told.rows.values()].filter((row) => row.power === "trickle" && row.intended === null);
  box.replaceChildren(...[
    moved ? make("p", { class: "answer" }, sentence(told)) : make("p", { class: "answer quiet" }, asItStands(told)),
    unmeant.length ? make("div", { class: "alarm" }, make("b", {}, "Not meant"), make("ul", {}, unmeant)) : null,
    ...freed.map((one) => make("div", {}, bar(one), make("p", { class: "small" }, districtWords(one)))),
    rows.length ? make("ul", { class: "small plain" }, rows.map((one) => make("li", {}, trainWords(one, told.rows.get(one.block))))) : null,
    trickles.length ? make("p", { class: "small" }, `Whether anything stays awake in ${cut(trickles.map((row) => row.block), 4)} is asked live only.`) : null,
    EXTRA.slip ? EXTRA.slip(told) : moved ? make("p", { class: "small muted" }, "Volts and shorts so: asked live only, or ",
      make("code", {}, command(told))) : null, moved ? make("div", { class: "buttons" }, button("as before", () => change({ moved: {} })),
      WAYS.has(chosen.block) ? button(`Follow the current to ${chosen.block}`, () => openWay(chosen.block)) : null) : null,
  ].filter(Boolean));
}

function openWay(block) { follow(block); change({ screen: "way", block }); }

function asItStands(told) {
  const rows = [...told.rows.values()], lit = rows.filter((row) => row.power === "on").length;
  const dead = rows.filter((row) => row.power === "off" || row.power === "trickle").map((row) => row.block);
  return `${lit || "None"} of ${plural(rows.length, "block")} ${lit === 1 ? "has" : "have"} power`
    + `${dead.length ? `; without: ${cut(dead, 8)}` : ""}. Touch a track to put it to sleep.`;
}

function command(told) {
  const quoted = (word) => (/^[\w.,:/+-]+$/.test(word) ? word : `'${word.replaceAll("'", "'\\''")}'`);
  const scenario = told.scenario === null ? "" : ` --scenario ${quoted(told.scenario)}`;
  return told.opened.length ? `blockcheck isolate FILE ${quoted(told.opened.join(","))}${scenario}` : `blockcheck power FILE${scenario}`;
}

function bar({ district, before, after, limit }) {
  if (before === null || after === null) return null;
  const most = limit ?? Math.max(before, after, 0.001), part = (one) => `${Math.min(100, Math.max(0, (one / most) * 100))}%`;
  return make("div", { class: "bar", "aria-hidden": "true" }, make("span", { class: "solid", width: part(Math.min(before, after)) }),
    make("span", { class: "hatched", width: part(Math.abs(before - after)) }));
}
