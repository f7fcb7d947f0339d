// Live: the page follows the files, keeps what was chosen, and asks for what takes the electrics.
const KEY = new URLSearchParams(location.search).get("key");
const at = (path, more = {}) => `${path}?${new URLSearchParams({ ...(KEY === null ? {} : { key: KEY }), ...more })}`;
let asked = null;

function followFiles() {
  const news = make("aside", { class: "news", "aria-label": "the files", role: "status", hidden: true });
  document.querySelector("main").before(news);
  const told = (...children) => {
    news.replaceChildren(...children);
    news.hidden = !children.length;
  };
  const source = new EventSource(at("events"));
  source.addEventListener("message", (event) => {
    const { version, errors } = JSON.parse(event.data), same = version.split(" ")[0] === data.digest;
    if (!errors.length && !same) return location.reload();
    if (same && version > document.body.dataset.live) takeMore();
    return errors.length ? told(make("b", {}, `The files are wrong (${plural(errors.length, "fault")}); below is the last good page.`),
      make("ul", {}, errors.slice(0, 20).map((one) => make("li", {}, make("code", {}, one.file === null ? "" : `${one.file}:${one.line}`),
        ` ${one.message}`, one.help ? make("span", { class: "look" }, one.help) : "")))) : told();
  });
  source.addEventListener("error", () => told(make("b", {}, "The server does not answer; the page goes on without it.")));
}

// What was being worked out comes into the page as it stands: nothing is lost that somebody chose, or is writing.
async function takeMore() {
  const fresh = new DOMParser().parseFromString(await (await fetch(at(location.pathname))).text(), "text/html");
  const more = JSON.parse(fresh.getElementById("data").textContent);
  if (more.digest !== data.digest) return location.reload();
  for (const [name, lacks] of [["findings", data.pending], ["tests", data.tests === null]])
    if (lacks) document.getElementById(name).replaceWith(document.adoptNode(fresh.getElementById(name))), OPENED.delete(name);
  if (data.pending) {
    document.querySelector(".drawn").replaceWith(document.adoptNode(fresh.querySelector(".drawn")));
    takeDrawing();
    for (const row of ROWS.values()) row.shows = "";
  }
  Object.assign(data, more);
  STOOD.clear();
  document.body.dataset.live = fresh.body.dataset.live;
  draw();
}

async function answered(path, box, options = {}) {
  try {
    const found = await (await fetch(path, options)).json();
    box.replaceChildren(...found.sentences.map((one) => make("p", { class: "small told" }, one)));
    return found;
  } catch {
    box.replaceChildren(make("p", { class: "small" }, "The server does not answer."));
    return { volts: {} };
  }
}

// The chosen state, as power and wake have it. What was closed on top cannot be asked so.
function electrics(told) {
  const key = JSON.stringify([data.digest, told.scenario, told.opened, told.closed]);
  if (asked?.key === key) {
    showVolts();
    return asked.box;
  }
  const box = make("div", { class: "electrics", "aria-live": "polite" });
  asked = { key, box, volts: {} };
  if (told.closed.length) box.append(make("p", { class: "small" }, "Volts with switches closed on top: set them in a scenario, and ask that."));
  else box.append(button("volts, shorts and waking now", async () => {
    box.replaceChildren(make("p", { class: "small" }, "It is worked out ..."));
    const state = { ...(told.scenario === null ? {} : { scenario: told.scenario }), ...(told.opened.length ? { open: told.opened.join(",") } : {}) };
    const { volts } = await answered(at("ask", state), box);
    if (asked.key !== key) return;
    asked.volts = volts;
    showVolts();
  }));
  return box;
}

function showVolts() {
  for (const [name, { word }] of ROWS)
    if (asked.volts[name] != null) word.textContent = `${word.textContent.split(" \u00b7 ")[0]} \u00b7 ${show(asked.volts[name], "V")}`;
}

function askTrace(section) {
  const box = make("div", { class: "electrics", "aria-live": "polite" });
  section.querySelector(".step").before(make("div", { class: "buttons" }, button("ask trace", () => (
    answered(at("trace"), box, { method: "POST", body: readingsToml() })))), box);
}

EXTRA.slip = electrics;
EXTRA.tests = askTrace;
followFiles();
draw();
