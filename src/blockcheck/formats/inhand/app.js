// The page: what is chosen, the four screens, and what is told aloud.
const SCREENS = { yard: yardScreen, way: wayScreen, tests: testsScreen, findings: findingsScreen }, OPENED = new Set();
const KEPT = "blockcheck chosen";
let chosen = { screen: "yard", state: 0, moved: {}, show: "all", block: null, marked: [] };

// What the browser keeps of the page; where it keeps nothing for a file, the page does without.
function stored(store, key, value) {
  try {
    if (value !== undefined) store().setItem(key, JSON.stringify(value));
    return JSON.parse(store().getItem(key));
  } catch {
    return null;
  }
}

function change(what) {
  chosen = { ...chosen, marked: what.moved || "state" in what ? [] : chosen.marked, ...what };
  stored(() => sessionStorage, KEPT, chosen);
  draw();
  if (what.screen) window.scrollTo(0, 0);
}

// What was chosen before a reload, as far as the layout still has it.
function again() {
  const before = stored(() => sessionStorage, KEPT);
  if (before === null || typeof before !== "object") return;
  chosen = {
    ...chosen, screen: before.screen in SCREENS ? before.screen : "yard",
    state: before.state in data.states ? before.state : 0, moved: Object.fromEntries(Object.entries(before.moved ?? {}).filter((one) => canStand(...one))),
    show: document.querySelector(`[data-show="${CSS.escape(before.show)}"]`) ? before.show : "all", block: BLOCK.has(before.block) ? before.block : null,
  };
}

// A screen is made when it is first opened.
function open(screen) {
  if (OPENED.has(screen)) return;
  OPENED.add(screen);
  SCREENS[screen](document.getElementById(screen));
}

function say(words) { Object.assign(document.querySelector(".said"), { textContent: words, hidden: words === "" }); }

function draw() {
  say("");
  const told = answer(stand(chosen.state), stand(chosen.state, chosen.moved));
  open(chosen.screen);
  drawYard(told);
  drawWay();
  document.body.dataset.screen = chosen.screen;
  for (const one of document.querySelectorAll("nav button")) put(one, "aria-current", one.dataset.screen === chosen.screen ? "page" : "false");
}

hear(document, "nav button", (one) => change({ screen: one.dataset.screen }));
again();
open("yard");
draw();
document.body.dataset.ready = "yes";
globalThis.blockcheck = { stand, answer, sentence, districtWords, trainWords, unmeantWords, broken, show, explained, taken: () => taken,
  readingsToml, takeReadings, open, get faults() { return FAULTS; }, get steps() { return STEPS; } };
