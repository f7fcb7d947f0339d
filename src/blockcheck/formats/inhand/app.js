// The page: what is chosen, the four screens, and what is told aloud.
const SCREENS = { yard: yardScreen, way: wayScreen, tests: testsScreen, findings: findingsScreen }, OPENED = new Set();
const KEPT = "blockcheck chosen";
let chosen = { screen: "yard", state: 0, moved: {}, show: "all", block: null, marked: [] };

// Where a browser keeps nothing for a file, the page does without.
function kept(store, key, fallback) {
  try {
    return JSON.parse(store().getItem(key)) ?? fallback;
  } catch {
    return fallback;
  }
}

function keep(store, key, value) {
  try {
    store().setItem(key, JSON.stringify(value));
    return true;
  } catch {
    return false;
  }
}

function change(what) {
  if (what.moved || "state" in what) chosen = { ...chosen, marked: [] };
  chosen = { ...chosen, ...what };
  keep(() => sessionStorage, KEPT, chosen);
  draw();
}

// What was chosen before a reload, as far as the layout still has it.
function again() {
  const before = kept(() => sessionStorage, KEPT, null);
  if (before === null || typeof before !== "object") return;
  const moved = Object.entries(before.moved ?? {}).filter(([name, at]) => (data.contacts.some((one) => one.control === name && one.at === at)));
  chosen = {
    ...chosen, screen: before.screen in SCREENS ? before.screen : "yard",
    state: before.state in data.states ? before.state : 0, moved: Object.fromEntries(moved),
    show: SHOWS.some(([name]) => name === before.show) ? before.show : "all", block: BLOCK.has(before.block) ? before.block : null,
  };
}

// A screen is made when it is first opened.
function open(screen) {
  if (OPENED.has(screen)) return;
  OPENED.add(screen);
  SCREENS[screen](document.getElementById(screen));
}

function say(words) {
  const told = document.querySelector(".said");
  told.textContent = words;
  told.hidden = words === "";
}

function draw() {
  say("");
  const after = stand(chosen.state, chosen.moved);
  const told = answer(stand(chosen.state), after);
  told.isOpen = isOpen(after);
  open(chosen.screen);
  drawYard(told);
  drawWay();
  document.body.dataset.screen = chosen.screen;
  for (const one of document.querySelectorAll("nav button")) put(one, "aria-current", one.dataset.screen === chosen.screen ? "page" : "false");
}

for (const one of document.querySelectorAll("nav button"))
  one.addEventListener("click", () => {
    change({ screen: one.dataset.screen });
    window.scrollTo(0, 0);
  });
again();
open("yard");
draw();
document.body.dataset.ready = "yes";
globalThis.blockcheck = { stand, answer, sentence, districtWords, trainWords, unmeantWords, broken, show, explained, taken: () => taken,
  readingsToml, takeReadings, open, get faults() { return FAULTS; }, get steps() { return STEPS; } };
