// Tests: one step a screen; what was read is kept, and what explains it comes from the table of single faults.
const NOTED = `blockcheck readings ${data.layout}`, ASKED = ["do", "red", "black", "expect"];
const ORDERS = { sheet: "in sheet order", splits: "only what splits" };
let STEPS = [], FAULTS = [], MAYBE = {}, taken = new Map(), step = 0, order = "sheet", noted = "", from = null;

// The table of faults, made when the screen is first opened.
function takeTests({ steps, faults: table, maybe }) {
  const sized = new Set(table.sized);
  [STEPS, MAYBE] = [steps, maybe];
  FAULTS = table.words.map((words, number) => ({
    words, look: table.places[table.look[number]], weight: table.weight[number], sized: sized.has(number),
    reads: runsOf(table.steps[number], table.reads[number], table.values),
  }));
}

// Step -> what it reads; below nought stands how far the steps before it read alike.
function runsOf(steps, reads, values) {
  const found = new Map();
  let at = -1, last = 0;
  for (const step of steps) {
    if (step > 0) at++;
    for (last = step > 0 ? step : last + 1; last <= Math.abs(step); last++) found.set(last, values[reads[at]]);
    last = Math.abs(step);
  }
  return found;
}

// -- readings ----------------------------------------------------------------------------------------------------
// What was kept: a step that has changed since keeps no reading.
function recall() {
  const before = kept(() => localStorage, NOTED, null), lost = [];
  if (before === null || typeof before.steps !== "object" || before.steps === null) return;
  for (const [key, one] of Object.entries(before.steps)) {
    const here = STEPS.find((own) => keyOf(own) === key);
    const same = here !== undefined && typeof one?.reading === "string" && ASKED.every((part) => one[part] === here[part]);
    if (same && understood(here, one.reading) !== null) taken.set(here.step, { reading: one.reading, on: String(one.on) });
    else lost.push(here === undefined ? `"${String(one?.title ?? key).slice(0, 60)}", which is gone` : `step ${here.step}`);
  }
  if (before.digest !== data.digest && (lost.length || taken.size))
    noted = `The layout's files have changed since these readings. ${lost.length
      ? `Other than before, and to be read again: ${cut(lost, 8)}.` : "No step that was read has changed."}`;
}

const keyOf = (one) => `${one.id}|${one.with}`;

function note() {
  const steps = Object.fromEntries(STEPS.filter((one) => taken.has(one.step)).map((one) => [keyOf(one),
    { ...taken.get(one.step), title: one.title, ...Object.fromEntries(ASKED.map((part) => [part, one[part]])) }]));
  if (!keep(() => localStorage, NOTED, { digest: data.digest, steps }))
    noted = "This browser keeps nothing for a file: save the readings before you close the page.";
}

// What somebody wrote, as one value: a number, a word, or names; null where it is none of these.
function understood(one, text) {
  const words = text.trim();
  if (/^ok$/i.test(words)) return "ok";
  if (one.kind === "channels" || one.kind === "trips") {
    const known = one.kind === "channels" ? data.tests.channels : data.tests.breakers;
    const names = /^(none|nothing|no|-)$/i.test(words) ? [] : words.split(/[\s,]+/).filter(Boolean);
    return (names.length || /\S/.test(words)) && names.every((name) => known.includes(name)) ? [...new Set(names)] : null;
  }
  if (/^beeps?$/i.test(words)) return "beeps";
  if (/^silent$/i.test(words)) return "silent";
  if (/^(open|ol)$/i.test(words)) return one.kind === "ohms" ? Infinity : null;
  const found = /^([\d.,]+)\s*(\w*)$/.exec(words), unit = found?.[2] || (one.kind === "volts" ? "V" : "ohm");
  const size = UNITS[one.kind === "volts" ? "V" : "ohm"].find(([name]) => name === unit)?.[1];
  const number = found ? Number(found[1].replace(",", ".")) : NaN;
  return size === undefined || !Number.isFinite(number) ? null : number * size;
}

// Whether a value is as it should be where nothing is wrong.
function right(one, value) {
  if (value === "ok") return true;
  if (one.names !== null) return mayBe(value, one.names, MAYBE[one.step] ?? []);
  if (typeof value === "string") return one.expect.includes(value);
  return value >= (one.low ?? 0) && value <= (one.high ?? Infinity);
}

const mayBe = (value, sure, perhaps) => Array.isArray(value) && sure.every((name) => value.includes(name))
  && value.every((name) => sure.includes(name) || perhaps.includes(name));

// Whether a fault would read so; a step that it does not change reads as it should.
function fits(fault, one, value) {
  if (!fault.reads.has(one.step)) return right(one, value);
  const told = fault.reads.get(one.step);
  if (one.names !== null) {
    const [sure, perhaps = ""] = told.split("; perhaps "), names = (text) => text.split(", ").filter((name) => name && name !== "none");
    return value !== "ok" && (sure.startsWith("+") ? mayBe(value, [...one.names, ...names(sure.slice(1))], MAYBE[one.step] ?? [])
      : mayBe(value, names(sure), names(perhaps)));
  }
  if (value === "ok") return false;
  if (typeof told === "string") return told.includes(typeof value === "string" ? value : value < 5 ? "beeps" : "silent");
  if (typeof value === "string") return value === (told < 5 ? "beeps" : "silent");
  if (fault.sized) return !right(one, value) && value > one.value === told > one.value;
  return Math.abs(value - told) <= 0.15 * told + (one.kind === "volts" ? 0.3 : 0.005);
}

// The faults that leave least unexplained, the likeliest first; only such as explain something that is off.
function explained() {
  const read = STEPS.filter((one) => taken.has(one.step)).map((one) => [one, understood(one, taken.get(one.step).reading)]);
  const off = read.filter(([one, value]) => !right(one, value));
  if (!off.length) return { off, found: [], read };
  let least = off.length, found = [];
  for (const fault of FAULTS) {
    let misfit = 0;
    for (const [one, value] of read) if (!fits(fault, one, value) && ++misfit > least) break;
    if (misfit > least || !off.some(([one, value]) => fits(fault, one, value))) continue;
    if (misfit < least) [least, found] = [misfit, []];
    found.push(fault);
  }
  found.sort((one, two) => two.weight - one.weight);
  return { off, found, read, left: least };
}

// Of the steps that are left, the one whose answers divide these faults most evenly; null where none divides them. One with
// power on comes only where none with power off tells more.
function splitting(found) {
  const parts = new Map(), sum = (weights) => weights.reduce((one, two) => one + two, 0), all = sum(found.map((one) => one.weight));
  for (const { reads, weight } of found)
    for (const [number, told] of reads) {
      if (!parts.has(number)) parts.set(number, new Map());
      parts.get(number).set(told, (parts.get(number).get(told) ?? 0) + weight);
    }
  let best = null, smallest = all * (1 - 1e-9);
  for (const one of STEPS) {
    if (best && best.stage !== one.stage) break;
    const own = taken.has(one.step) ? [] : [...(parts.get(one.step)?.values() ?? [])], largest = Math.max(...own, all - sum(own));
    if (largest < smallest) [best, smallest] = [one, largest];
  }
  return best;
}

// What comes after this step, by its place: the next on the sheet that is not read, or what splits what may still be,
// that nothing is wrong among it; -1 where none is.
function following() {
  if (order === "sheet") return STEPS.findIndex((one, number) => number > step && !taken.has(one.step));
  const { off, found, read } = explained();
  const may = off.length ? found : FAULTS.filter((fault) => !read.some(([one]) => fault.reads.has(one.step)));
  return STEPS.indexOf(splitting(off.length ? may : [...may, { reads: new Map(), weight: 1 }]));
}

// -- the screen --------------------------------------------------------------------------------------------------
function testsScreen(section) {
  if (!data.tests?.steps.length) return section.append(make("p", {}, data.untested ?? "There is nothing to test."));
  takeTests(data.tests);
  recall();
  section.append(
    make("p", { class: "noted", hidden: true }), make("p", { class: "progress", id: "progress" }),
    make("progress", { max: STEPS.length, value: 0, "aria-labelledby": "progress" }),
    make("div", { class: "chips", role: "group", "aria-label": "which steps" }, Object.entries(ORDERS).map(([name, words]) => (
      button(words, () => inOrder(name), { class: "chip", "data-order": name })))),
    make("div", { class: "causes", role: "status" }), make("div", { class: "step" }), make("h3", {}, "Readings"),
    make("p", { class: "small" }, "Kept in this browser, and in a file: blockcheck trace reads that, and fits sizes and the "
      + "material of rails and wires, which a table cannot.", data.tests.left_out
      ? ` Three plugs that have changed places are not in the table (${data.tests.left_out} ways): trace knows them.` : ""),
    make("div", { class: "buttons" }, button("save readings.toml", saveReadings),
      make("label", { class: "file" }, "read a file", make("input", { type: "file", accept: ".toml,text/plain", class: "unseen",
        onchange: (event) => loadReadings(event.target) })),
      button("start again", startAgain)),
    make("details", { ontoggle: drawSheet }, make("summary", {}, "All steps"), make("ol", { class: "sheet" })));
  step = Math.max(0, STEPS.findIndex((one) => !taken.has(one.step)));
  drawTests();
  EXTRA.tests?.(section);
}

function inOrder(name) {
  order = name;
  onward();
}

// On to what follows; where nothing does, this step stays, and why is told.
function onward() {
  const to = following();
  goTo(to < 0 ? step : to);
  if (to < 0 && order === "splits") say("No step that is left tells more about a single fault.");
}

function startAgain() {
  if (taken.size && !window.confirm(`Forget ${plural(taken.size, "reading")}?`)) return;
  taken = new Map();
  noted = "";
  note();
  goTo(0);
}

function goTo(number, focus = true) {
  [from, step] = [STEPS[step].stage, Math.min(Math.max(number, 0), STEPS.length - 1)];
  drawTests();
  if (focus) document.querySelector(".step h3").focus();
}

function enter(one, reading) {
  taken.set(one.step, { reading, on: new Date().toISOString().slice(0, 10) });
  note();
}

function drawTests() {
  const section = document.getElementById("tests");
  const told = explained(), best = told.found.length > 1 ? splitting(told.found) : null;
  section.querySelector(".noted").textContent = noted;
  section.querySelector(".noted").hidden = !noted;
  section.querySelector("#progress").textContent = `${taken.size} of ${plural(STEPS.length, "step")} read`;
  section.querySelector("progress").value = taken.size;
  section.querySelector(".causes").replaceChildren(...causes(told, best));
  section.querySelector(".step").replaceChildren(...stepCard(STEPS[step], best));
  press("[data-order]", (chip) => chip.dataset.order === order);
  drawSheet();
}

function drawSheet() {
  const sheet = document.querySelector("#tests .sheet");
  if (sheet.parentNode.open) sheet.replaceChildren(...STEPS.map((one, number) => {
    const own = taken.get(one.step), off = own && !right(one, understood(one, own.reading));
    return make("li", { value: one.step }, button(one.title, () => goTo(number), { class: "jump" }),
      own ? make("b", { class: off ? "off-word" : "fine" }, off ? ` \u00d7 ${own.reading}` : ` \u2713 ${own.reading}`) : "");
  }));
}

function causes({ off, found, left }, best) {
  if (!off.length) return taken.size ? [make("p", { class: "fine" }, `\u2713 All that was read is as expected.`)] : [];
  const many = `${plural(off.length, "reading is", "readings are")} off`;
  if (!found.length) return [make("div", { class: "alarm" }, make("b", {}, `${many}, and no single fault of the table explains any of them.`),
    make("p", {}, "Ask blockcheck trace with the saved readings: it looks at pairs, sizes and the material too."))];
  const whole = left === 0 ? `${found.length === 1 ? "One fault explains" : `${found.length} faults explain`} all of it`
    : `${found.length === 1 ? "One fault leaves" : `${found.length} faults leave`} ${plural(left, "reading")} unexplained, no other less`;
  return [make("div", { class: "alarm" }, make("b", {}, `${many}. ${whole}:`),
    make("ol", {}, found.slice(0, 4).map((one) => make("li", {}, one.words, make("span", { class: "look" }, `Look at ${one.look}.`)))),
    found.length > 4 ? make("p", {}, `and ${found.length - 4} more`) : null,
    best ? button(`make step ${best.step} next: it splits them best`, () => goTo(STEPS.indexOf(best)), { class: "chip" })
      : found.length > 1 ? make("p", {}, "No step of the sheet tells these apart.") : null)];
}

function stepCard(one) {
  const own = taken.get(one.step), value = own ? understood(one, own.reading) : null;
  const first = STEPS[step - 1]?.stage !== one.stage || from !== one.stage || !taken.size, setup = one.stage === "dead" ? data.tests.dead : data.tests.live;
  const told = own === undefined ? ["", ""] : right(one, value) ? ["fine", `\u2713 as expected: ${own.reading}`]
    : ["off-word", `\u00d7 not as expected: ${own.reading}`];
  const place = (word, text) => (text && one.do.endsWith("from red to black.") ? [make("dt", {}, word), make("dd", {}, text)] : []);
  return [
    make("p", { class: "muted" }, `step ${one.step} of ${STEPS.length}, power ${one.stage === "dead" ? "off" : "on"}`),
    make("h3", { tabindex: "-1" }, one.title),
    first && setup.length ? make("ul", { class: "setup" }, setup.map((line) => make("li", {}, line))) : null,
    make("p", {}, one.do), make("dl", { class: "probing" }, ...place("red", one.red), ...place("black", one.black)),
    make("p", { class: "muted expect-word" }, "expect"), make("p", { class: "expect" }, one.expect),
    make("p", { class: `result ${told[0]}`, role: "status" }, told[1]), ...answers(one),
    make("div", { class: "buttons" }, button("\u2039 before", () => goTo(step - 1)), button("next \u203a", order === "sheet" ? () => goTo(step + 1) : onward)),
  ].filter(Boolean);
}

// How it can be answered: as expected, the other word of a beeper, or whatever was read.
function answers(one) {
  const done = (reading) => {
    enter(one, reading);
    onward();
  };
  const off = (reading) => {
    enter(one, reading);
    drawTests();
    document.querySelector(".step h3").focus();
  };
  if (one.with === "beeper" && one.expect !== "beeps, or is silent") {
    const other = one.expect === "beeps" ? "silent" : "beeps";
    return [make("div", { class: "buttons large" }, button(`\u2713 as expected: ${one.expect}`, () => done(one.expect)),
      button(other === "silent" ? "it is silent" : "it beeps", () => off(other)))];
  }
  const names = one.kind === "channels" || one.kind === "trips";
  const field = make("input", { type: "text", inputmode: names ? "text" : "decimal", id: "reading", autocomplete: "off",
    autocapitalize: "characters", spellcheck: "false" });
  const units = names ? null : make("select", { "aria-label": "unit" },
    (one.kind === "volts" ? ["V", "mV"] : ["mohm", "ohm", "kohm"]).map((unit) => make("option", {}, unit)));
  if (units && one.kind === "ohms" && (one.value ?? 1) >= 1) units.value = "ohm";
  const submit = (event) => {
    event.preventDefault();
    const text = field.value.trim(), whole = units && /^[\d.,]+$/.test(text) ? `${text.replace(",", ".")} ${units.value}` : text;
    const value = understood(one, whole);
    if (value === null || !text) return say(names ? `Write ${one.kind === "channels" ? "channels" : "breakers"} by name, such as `
      + `${(one.kind === "channels" ? data.tests.channels : data.tests.breakers)[0] ?? "none"}, or none.`
      : "Write a number with a decimal point or comma, or open.");
    if (right(one, value)) done(whole);
    else off(whole);
  };
  return [make("div", { class: "buttons large" }, button("\u2713 as expected", () => done(one.names === null ? "ok" : one.names.join(", ") || "none"))),
    make("form", { class: "else", onsubmit: submit }, make("label", { for: "reading" }, "or what it reads",
      make("span", { class: "both" }, field, units, make("button", { type: "submit" }, "enter"))))];
}

// -- out and in again --------------------------------------------------------------------------------------------
const quoted = (text) => JSON.stringify(text).replace(/[\u007f-\u009f\u2028\u2029]/g, (sign) => `\\u${sign.charCodeAt(0).toString(16).padStart(4, "0")}`);

function readingsToml() {
  const dates = [...taken.values()].map((one) => one.on).sort();
  const lines = [`# Readings of ${data.layout.replace(/[\u0000-\u001f\u007f-\u009f\u2028\u2029]/g, " ")}. Ask: blockcheck trace LAYOUT THIS-FILE`,
    "format = 1", `layout = ${quoted(data.layout)}`, `date = ${quoted(dates.at(-1) ?? "")}`];
  for (const one of STEPS) {
    if (!taken.has(one.step)) continue;
    lines.push("", "[[steps]]", `id = ${quoted(one.id)}`, ...(one.with ? [`with = ${quoted(one.with)}`] : []),
      `expect = ${quoted(one.expect)}`, `reading = ${quoted(taken.get(one.step).reading)}`);
  }
  return `${lines.join("\n")}\n`;
}

function saveReadings() {
  const link = make("a", { href: URL.createObjectURL(new Blob([readingsToml()], { type: "text/plain" })), download: "readings.toml" });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}

async function loadReadings(input) {
  const file = input.files[0];
  if (file === undefined) return;
  takeReadings(file.size > 1e6 ? "" : await file.text());
  input.value = "";
}

// A file of readings, as this page or the test sheet has it; what is not understood is told, and nothing is lost.
function takeReadings(text) {
  const blocks = [], odd = [];
  for (const [number, raw] of text.split(/\r?\n/).entries()) {
    const found = /^\s*(\w+)\s*=\s*("(?:[^"\\]|\\.)*"|'[^']*')\s*(?:#.*)?$/.exec(raw);
    if (/^\s*\[\[\s*steps\s*\]\]\s*(#.*)?$/.test(raw)) blocks.push({ line: number + 1 });
    else if (found && blocks.length) blocks.at(-1)[found[1]] = plainText(found[2]);
  }
  const fresh = new Map();
  for (const one of blocks) {
    if (!one.reading) continue;
    const here = STEPS.find((own) => own.id === one.id && (own.with === (one.with ?? own.with)));
    if (here === undefined || understood(here, one.reading) === null) odd.push(`line ${one.line}`);
    else fresh.set(here.step, { reading: one.reading, on: new Date().toISOString().slice(0, 10) });
  }
  for (const [number, one] of fresh) taken.set(number, one);
  if (fresh.size) note();
  noted = fresh.size || odd.length ? `${plural(fresh.size, "reading")} taken from the file${odd.length
    ? `; not understood, or no step of this sheet: ${cut(odd, 6)}` : ""}.` : "That file has no readings: it is to be a readings.toml.";
  drawTests();
}

function plainText(written) {
  if (written.startsWith("'")) return written.slice(1, -1);
  try {
    return JSON.parse(written.replace(/\\U0*([0-9A-Fa-f]{1,6})/g, (_, hex) => JSON.stringify(String.fromCodePoint(parseInt(hex, 16))).slice(1, -1)));
  } catch {
    return "";
  }
}
