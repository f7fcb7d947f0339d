// Way: the current to one block, terminal after terminal; each answer of a meter halves what is left.
const WAYS = new Map(data.ways.map((one) => [one.block, one]));
const SIDES = { comes: "from the booster", returns: "the way back" };
const PROBES = {
  comes: "Power on, every switch on the way closed. One probe stays on the return; the other goes to the place that is marked.",
  returns: "Power on, every switch on the way closed. One probe stays on the feed; the other goes to the place that is marked.",
};
let hunt = { block: null, side: "comes", live: -1, dead: null, at: null };

function wayScreen(section) {
  if (!data.ways.length) {
    section.append(make("p", {}, "No block has a feed of its own whose way is known."));
    return;
  }
  const blocks = make("select", { id: "to", onchange: (event) => follow(event.target.value) },
    data.ways.map((one) => make("option", { value: one.block }, trackName(one.block))));
  const field = make("input", { id: "label", type: "text", autocomplete: "off", autocapitalize: "off", spellcheck: "false" });
  const go = (event) => {
    event.preventDefault();
    findLabel(field.value.trim());
  };
  section.append(
    make("form", { class: "asks", onsubmit: go },
      make("label", { for: "to" }, "The current to", blocks),
      make("label", { for: "label" }, "or what a label says", make("span", { class: "both" }, field,
        make("button", { type: "submit" }, "go")))),
    make("div", { class: "chips", role: "group", "aria-label": "which side" }, Object.entries(SIDES).map(([side, words]) => (
      button(words, () => follow(hunt.block, side), { class: "chip", "data-side": side })))),
    make("p", { class: "probes" }), make("p", { class: "verdict", role: "status", tabindex: "-1" }), make("ol", { class: "hops" }),
    make("h3", { class: "beyond-head" }, "Beyond the first drop"), make("ol", { class: "hops beyond" }),
    make("div", { class: "buttons" }, button("begin again", () => follow(hunt.block, hunt.side))),
  );
}

function trackName(name) {
  const { track } = BLOCK.get(name);
  return track === null || name === String(track) ? name : `${track} \u00b7 ${name}`;
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
  hunt.at = null;
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
  section.querySelector(".probes").textContent = PROBES[hunt.side];
  const verdict = section.querySelector(".verdict");
  verdict.textContent = verdictWords(hops);
  verdict.classList.toggle("found", hunt.dead - hunt.live === 1);
  section.querySelector(".hops").replaceChildren(...hops.map((hop, number) => hopItem(hop, number, here, stands)));
  const beyond = every.filter((one) => one.beyond);
  section.querySelector(".beyond-head").hidden = !beyond.length;
  section.querySelector(".hops.beyond").replaceChildren(...beyond.map((hop) => hopItem(hop, null, null, stands)));
}

function hopItem(hop, number, here, stands) {
  const { terminal, place, labels } = data.terminals[hop.at];
  const control = terminal.split(":")[0].replace(/\.\d+$/, "");
  const open = SWITCH.has(control) && stands(control) === SWITCH.get(control).open ? `${control} is open now` : "";
  const word = number === null ? "" : number <= hunt.live ? "live" : number >= hunt.dead ? "dead" : "";
  const marked = labels.filter((one) => one !== terminal);
  const item = make("li", { class: `hop ${word} ${number === here && here !== null ? "here" : ""}`, "data-terminal": terminal },
    number === null ? make("b", { class: "terminal" }, terminal)
      : button([make("b", { class: "terminal" }, terminal), " ", make("span", { class: "mark" }, word)], () => measureAt(number), { class: "place" }),
    make("p", {}, [place, marked.length ? `label ${marked.join(" / ")}` : ""].filter(Boolean).join(" \u00b7 ")),
    open ? make("p", { class: "open" }, open) : null,
    number !== null && number === here ? make("div", { class: "buttons" }, make("span", { class: "ask" }, "Measure here:"),
      button("live here", () => measured(true)), button("dead here", () => measured(false))) : null,
    hop.onward ? make("p", { class: "onward" }, `\u2193 ${hop.onward.replace("mm2", "mm\u00b2")}`) : null);
  return item;
}

function measureAt(number) {
  hunt.at = number;
  drawWay();
  document.querySelector(".hop.here .buttons button").focus();
}

// A label, a terminal, a channel, an address or a block: to its place on a way.
function findLabel(asked) {
  const folded = asked.toLowerCase(), is = (one) => one != null && String(one).toLowerCase() === folded;
  const block = data.blocks.find((one) => [one.block, one.channel, one.address].some(is));
  if (block !== undefined && WAYS.has(block.block)) {
    change({ block: block.block });
    const channel = line(block.block, "comes").findIndex((one) => is(data.terminals[one.at].terminal)
      || data.terminals[one.at].terminal === block.channel?.replace(".", ":"));
    return follow(block.block, "comes", channel > -1 && !is(block.block) ? channel : null);
  }
  const found = data.terminals.findIndex((one) => is(one.terminal) || one.labels.some(is));
  const ways = found < 0 ? [] : [...WAYS.values()].flatMap((way) => Object.keys(SIDES).filter((side) => (
    way[side].terminals.includes(found))).map((side) => [way.block, side]));
  if (!ways.length) return say(asked ? `Nothing on these ways is called ${asked}. At a computer: blockcheck where FILE "${asked}"` : "");
  const [name, side] = ways.find(([one]) => one === hunt.block) ?? ways[0];
  change({ block: name });
  const at = line(name, side).findIndex((hop) => hop.at === found);
  follow(name, side, at < 0 ? null : at);
  document.querySelector(`.hop[data-terminal="${CSS.escape(data.terminals[found].terminal)}"]`).scrollIntoView({ block: "center" });
}
