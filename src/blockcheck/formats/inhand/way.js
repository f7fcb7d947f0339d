// Way: the current to one block, terminal after terminal; each answer of a meter halves what is left.
const WAYS = new Map(data.ways.map((one) => [one.block, one]));
let hunt = { block: null, side: "comes", live: -1, dead: null, at: null };

function wayScreen(section) {
  hear(section, "#to", (one) => follow(one.value), "change");
  hear(section, ".asks", (_, sent) => { sent.preventDefault(); findLabel(section.querySelector("#label").value.trim()); }, "submit");
  hear(section, "[data-side]", (one) => follow(hunt.block, one.dataset.side));
  hear(section, ".again", () => follow(hunt.block, hunt.side));
}

function follow(block, side = "comes", at = null) {
  hunt = { block, side, live: -1, dead: line(block, side).length, at };
  drawWay();
}

function hopsOf(block, side) {
  const { terminals, joins, beyond } = WAYS.get(block)[side];
  return terminals.map((at, number) => ({ at, onward: data.joins[joins[number]], beyond: number >= beyond }));
}

const line = (block, side) => hopsOf(block, side).filter((one) => !one.beyond);
const next = () => hunt.at ?? (hunt.dead - hunt.live > 1 ? Math.floor((hunt.live + hunt.dead) / 2) : null);

function measured(live) {
  const at = next();
  if (live) [hunt.live, hunt.dead] = [at, Math.max(hunt.dead, at + 1)];
  else [hunt.dead, hunt.live] = [at, Math.min(hunt.live, at - 1)];
  measureAt(null);
}

function measureAt(number) {
  hunt.at = number;
  drawWay();
  (document.querySelector(".hop.here .buttons button") ?? document.querySelector(".verdict")).focus();
}

// What is known so far, in words.
function verdictWords(hops) {
  const name = (at) => data.terminals[hops[at].at].terminal;
  if (hunt.dead - hunt.live > 1) return `${plural(hunt.dead - hunt.live - 1, "place")} left. Measure at ${name(next())}, or touch another.`;
  if (hunt.live === -1) return `Dead at ${name(0)} already: look at the booster, and at whatever feeds it.`;
  if (hunt.dead === hops.length) return `Live at ${name(hunt.live)}: the current comes all the way. Look at the other side.`;
  return `The break is between ${name(hunt.live)} and ${name(hunt.dead)}: ${hops[hunt.live].onward}.`;
}

function drawWay() {
  const section = document.getElementById("way");
  if (!data.ways.length || chosen.screen !== "way") return;
  if (!WAYS.has(hunt.block)) return follow(WAYS.has(chosen.block) ? chosen.block : data.ways[0].block);
  const { at: stands } = stand(chosen.state, chosen.moved);
  const every = hopsOf(hunt.block, hunt.side), hops = line(hunt.block, hunt.side), here = next();
  section.querySelector("#to").value = hunt.block;
  press("[data-side]", (chip) => chip.dataset.side === hunt.side);
  section.querySelector(".probes").textContent = "Power on, every switch on the way closed. One probe stays "
    + `on the ${hunt.side === "comes" ? "return" : "feed"}; the other goes to the place that is marked.`;
  const verdict = section.querySelector(".verdict");
  verdict.textContent = verdictWords(hops);
  verdict.classList.toggle("found", hunt.dead - hunt.live === 1);
  section.querySelector(".hops").replaceChildren(...hops.map((hop, number) => hopItem(hop, number, here, stands)));
  section.querySelector(".hops.beyond").replaceChildren(...every.slice(hops.length).map((hop) => hopItem(hop, null, null, stands)));
}

function hopItem(hop, number, here, stands) {
  const { terminal, place, labels } = data.terminals[hop.at];
  const control = terminal.split(":")[0].replace(/\.\d+$/, "");
  const open = SWITCH.has(control) && stands(control) === SWITCH.get(control).open ? `${control} is open now` : "";
  const word = number === null ? "" : number <= hunt.live ? "live" : number >= hunt.dead ? "dead" : "";
  const marked = labels.filter((one) => one !== terminal);
  return make("li", { class: `hop ${word} ${number === here && here !== null ? "here" : ""}`, "data-terminal": terminal },
    number === null ? make("b", { class: "terminal" }, terminal)
      : button([make("b", { class: "terminal" }, terminal), " ", make("span", { class: "mark" }, word)], () => measureAt(number), { class: "place" }),
    make("p", {}, [place, marked.length ? `label ${marked.join(" / ")}` : ""].filter(Boolean).join(" \u00b7 ")),
    open ? make("p", { class: "open" }, open) : null,
    number !== null && number === here ? make("div", { class: "buttons" }, make("span", { class: "ask" }, "Measure here:"),
      button("live here", () => measured(true)), button("dead here", () => measured(false))) : null,
    hop.onward ? make("p", { class: "onward" }, `\u2193 ${hop.onward.replace("mm2", "mm\u00b2")}`) : null);
}

// A label, a terminal, a channel, an address or a block: to its place on a way.
function findLabel(asked) {
  const is = (one) => asked !== "" && String(one ?? "").toLowerCase() === asked.toLowerCase();
  const own = data.ways.find((one) => is(one.block))?.block;
  if (own !== undefined) return openWay(own);
  const channel = data.blocks.find((one) => is(one.channel) || is(one.address))?.channel.replace(".", ":");
  const found = data.terminals.findIndex((one) => one.terminal === channel || is(one.terminal) || one.labels.some(is));
  const ways = data.ways.flatMap((way) => ["comes", "returns"].filter((side) => way[side].terminals.includes(found)).map((side) => [way.block, side]));
  if (!ways.length) return say(asked ? `Nothing on these ways is called ${asked}. At a computer: blockcheck where FILE "${asked}"` : "");
  const [block, side] = ways.find(([one]) => one === hunt.block) ?? ways[0];
  change({ block });
  const at = line(block, side).findIndex((hop) => hop.at === found);
  follow(block, side, at < 0 ? null : at);
  document.querySelector(`.hop[data-terminal="${CSS.escape(data.terminals[found].terminal)}"]`).scrollIntoView({ block: "center" });
}
