// Tests: one step a screen; what explains what was read so far stands above it.
let step = 0, order = "sheet", from = null;

// What comes after this step, by its place: the next on the sheet that is not read, or what splits what may still be,
// that nothing is wrong among it; -1 where none is.
function following() {
  if (order === "sheet") return STEPS.findIndex((one, number) => number > step && !taken.has(one.step));
  const { off, found, read } = explained();
  const may = off.length ? found : FAULTS.filter((fault) => !read.some(([one]) => fault.reads.has(one.step)));
  return STEPS.indexOf(splitting(off.length ? may : [...may, { reads: new Map(), weight: 1 }]));
}

function testsScreen(section) {
  if (!data.tests?.steps.length) return;
  takeTests(data.tests);
  recall();
  hear(section, "[data-order]", (one) => { order = one.dataset.order; onward(); });
  hear(section, "details", drawSheet, "toggle");
  hear(section, ".save", saveReadings);
  hear(section, ".forget", startAgain);
  hear(section, ".file input", loadReadings, "change");
  step = Math.max(0, STEPS.findIndex((one) => !taken.has(one.step)));
  drawTests();
  EXTRA.tests?.(section);
}

// On to what follows; where nothing does, this step stays, and why is told.
function onward() {
  const to = following();
  goTo(to < 0 ? step : to);
  if (to < 0 && order === "splits") say("No step that is left tells more about a single fault.");
}

function startAgain() {
  if (taken.size && !window.confirm(`Forget ${plural(taken.size, "reading")}?`)) return;
  [taken, noted] = [new Map(), ""];
  note();
  goTo(0);
}

function goTo(number) {
  [from, step] = [STEPS[step].stage, Math.min(Math.max(number, 0), STEPS.length - 1)];
  drawTests();
  document.querySelector(".step h3").focus();
}

// What is as expected leads on; what is not stays in sight.
function took(one, reading) {
  takeReading(one.step, reading);
  note();
  if (right(one, understood(one, reading))) onward();
  else goTo(step);
}

function drawTests() {
  const section = document.getElementById("tests");
  const told = explained(), best = told.found.length > 1 ? splitting(told.found) : null;
  section.querySelector(".noted").textContent = noted;
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

function causes({ off, found, left, more }, best) {
  const shares = more?.map((one, at) => `${["rails", "wires", "joints"][at]} ${Math.round(Math.abs(one) * 100)} % ${one < 0 ? "less" : "more"}`);
  const made = shares ? `Ohms are other than reckoned with, ${listed(shares)}, as those of another make are. Beside that: ` : "";
  if (!off.length) return taken.size ? [make("p", { class: "fine" }, `\u2713 ${made}All that was read is as expected.`)] : [];
  const many = `${made}${plural(off.length, "reading is", "readings are")} off`;
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
  const large = (...buttons) => make("div", { class: "buttons large" }, buttons);
  if (one.with === "beeper" && one.expect !== "beeps, or is silent") {
    const [other, words] = one.expect === "beeps" ? ["silent", "it is silent"] : ["beeps", "it beeps"];
    return [large(button(`\u2713 as expected: ${one.expect}`, () => took(one, one.expect)), button(words, () => took(one, other)))];
  }
  const names = { channels: data.tests.channels, trips: data.tests.breakers }[one.kind];
  const field = make("input", { type: "text", inputmode: names ? "text" : "decimal", id: "reading", autocomplete: "off",
    autocapitalize: "characters", spellcheck: "false" });
  const units = names ? null : make("select", { "aria-label": "unit" },
    (one.kind === "volts" ? ["V", "mV"] : ["mohm", "ohm", "kohm"]).map((unit) => make("option", {}, unit)));
  if (units && one.kind === "ohms" && (one.value ?? 1) >= 1) units.value = "ohm";
  const submit = (sent) => {
    sent.preventDefault();
    const text = field.value.trim(), whole = units && /^[\d.,]+$/.test(text) ? `${text.replace(",", ".")} ${units.value}` : text;
    if (text && understood(one, whole) !== null) return took(one, whole);
    say(names ? `Write ${one.kind === "channels" ? "channels" : "breakers"} by name, such as ${names[0] ?? "none"}, or none.`
      : "Write a number with a decimal point or comma, or open.");
  };
  return [large(button("\u2713 as expected", () => took(one, one.names === null ? "ok" : one.names.join(", ") || "none"))),
    make("form", { class: "else", onsubmit: submit }, make("label", { for: "reading" }, "or what it reads",
      make("span", { class: "both" }, field, units, make("button", { type: "submit" }, "enter"))))];
}
