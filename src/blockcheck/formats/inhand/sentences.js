// Sentences: how everything stands, in the words of isolate.
function sentence(told) {
  const rows = [...told.rows.values()], names = (some) => some.map((one) => one.block);
  const dead = rows.filter((one) => one.changed && one.power !== "on" && one.power !== null);
  const lit = rows.filter((one) => one.changed && one.power === "on");
  const live = names(told.unmeant.filter((one) => one.power === "on"));
  const victims = names(told.unmeant.filter((one) => one.changed && one.power !== "on"));
  const unknown = names(rows.filter((one) => one.power === null));
  const tail = [live.length ? `${listed(live)} should go dead and ${live.length === 1 ? "does" : "do"} not` : "",
    victims.length ? `${listed(victims)} ${victims.length === 1 ? "was" : "were"} not meant to change` : ""].filter(Boolean);
  let does = dead.length ? takes(dead) : "takes power from no block that had it";
  if (dead.length && !tail.length) does += ", as meant, and from nothing else";
  if (told.closed.length) does = [dead.length ? takes(dead) : "", lit.length ? `gives power to ${listed(names(lit))}`
    : "gives power to no block"].filter(Boolean).join(" and ");
  const by = [["opening", told.opened], ["closing", told.closed]].filter(([, some]) => some.length).map(([how, some]) => `${how} ${listed(some)}`).join(" and ");
  const where = told.scenario ? ` in scenario "${told.scenario}"` : "";
  const asked = unknown.length ? [`of ${cut(unknown, 4)} it is asked live only`] : [];
  return `${by[0].toUpperCase()}${by.slice(1)}${where} ${[does, ...tail, ...asked].join("; ")}.`;
}

function takes(dead) {
  const does = `takes power from ${listed(dead.map((one) => one.block))}`;
  const read = dead.filter((one) => one.detection !== null && one.detection !== "blind").map((one) => one.block);
  return read.length ? `${does}, ${read.length === dead.length ? "which" : `of which ${listed(read)}`} can still read` : does;
}

function unmeantWords(row) {
  if (row.power === "on") return `${row.block} stays live; "blockcheck check" shows the way round its isolator`;
  if (row.detection !== null && row.detection !== "blind" && row.because.length) return `${row.block} still reads with ${listed(row.because)} open`;
  if (row.because.length) return `${row.block} loses ${row.detection === null ? "power" : "power and detection"} through ${listed(row.because)}`;
  return `${row.block} changes`;
}

function districtWords(one) {
  const limit = one.limit === null ? "" : ` (it may carry ${show(one.limit, "A")})`;
  if (one.before === null || one.after === null) return `District ${one.district}${limit}: what it carries is asked live only.`;
  const freed = Number((one.before - one.after).toFixed(12));
  return `District ${one.district}: ${show(one.before, "A")} before, ${show(one.after, "A")} after; `
    + `${show(Math.abs(freed), "A")} ${freed > 0 ? "freed" : "more"}${limit}.`;
}

function trainWords(one, row) {
  let power = one.powered === null ? "may stay awake, or lose its power (asked live only)," : one.powered ? "keeps its power" : "loses its power";
  if (row.power === "on" && row.changed) power = "has power";
  if (one.reads === null) return `Train ${one.train} in ${one.block} ${power}; what it reads is ${data.pending ? "being worked out" : "asked live only"}.`;
  const unknown = row.channel === null ? `; ${one.block} has no detector` : "; whether it still reads is not known for want of data";
  return `Train ${one.train} in ${one.block} ${power}${one.reads === "unknown" ? unknown : ` and reads ${one.reads}`}.`;
}

function stateWord(row) {
  if (row.power === null) return "asked live only";
  if (!row.known) return "not connected";
  const words = { on: row.channel === null ? "on, no detector" : row.detection === "blind" ? "on, blind" : null, trickle: "trickle", off: "off" };
  const word = words[row.power] ?? "on";
  return row.power === "on" || row.detection === null ? word : `${word}, ${row.detection}`;
}
