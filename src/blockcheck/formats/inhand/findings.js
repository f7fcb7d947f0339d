// Findings: what check says, and where it shows.
const WORDS = { error: "\u00d7 error", warning: "! warning", note: "i note" };

function findingsScreen(section) {
  const { findings, unchecked, accepted } = data;
  section.append(
    make("p", { class: "lead" }, data.verdict), make("ol", { class: "cards" }, findings.map(findingCard)),
    unchecked.length ? make("h3", {}, `Not checked, for want of data: ${unchecked.length}`) : "",
    make("ul", { class: "small" }, unchecked.map((one) => (
      make("li", {}, make("b", {}, `${one.subject}: `), `${one.rule} needs ${one.needs.join(", ")}`)))),
    accepted.length ? make("h3", {}, `Accepted in the layout: ${accepted.length}`) : "",
    make("ul", { class: "small" }, accepted.map((one) => (make("li", {}, make("b", {}, `${one.subject}: `), `${one.rule}, because ${one.because}`)))),
    make("p", { class: "caution" }, data.caution),
  );
}

function findingCard(one) {
  const positions = Object.entries(one.state ?? {}).map(([name, at]) => `${name} ${at}`);
  const facts = [
    one.path === null ? null : ["current", one.path.join(" > ")], positions.length ? ["with", cut(positions, 12)] : null,
    one.help === null ? null : ["mend", one.help],
    ["at", `${one.file}, line ${one.line}`],
  ].filter(Boolean);
  const blocks = [...new Set([one.subject, ...one.with, ...(one.path ?? [])])].filter((name) => BLOCK.has(name));
  return make("li", { class: `card ${one.severity}` },
    make("p", { class: "severity" }, WORDS[one.severity], " ", make("code", {}, one.rule)), make("p", { class: "message" }, one.message),
    make("dl", {}, facts.flatMap(([word, told]) => [make("dt", {}, word), make("dd", {}, told)])),
    make("div", { class: "buttons" }, blocks.length ? button("Show on Yard", () => showFinding(one, blocks)) : "",
      blocks.some((name) => WAYS.has(name)) ? button("Follow the current", () => {
        showFinding(one, blocks);
        openWay(blocks.find((name) => WAYS.has(name)));
      }) : ""));
}

// The switches as the counter-example has them, what it is about marked.
function showFinding(one, marked) {
  const usual = stand(0).at, moved = {};
  for (const [name, at] of Object.entries(one.state ?? {}))
    if (SWITCH.has(name) && usual(name) !== at && data.contacts.some((contact) => contact.control === name && contact.at === at)) moved[name] = at;
  change({ state: 0, moved, marked, show: "all", screen: "yard", block: marked[0] });
  ROWS.get(marked[0]).control.focus();
}
