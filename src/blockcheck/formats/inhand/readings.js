// Readings: what was read, whether it is right, and how it is kept, goes out and comes in again.
const NOTED = `blockcheck readings ${data.layout}`, ASKED = ["do", "red", "black", "expect"];
let STEPS = [], MAYBE = {}, taken = new Map(), noted = "";

// What was kept: a step that has changed since keeps no reading.
function recall() {
  const before = stored(() => localStorage, NOTED), lost = [];
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

const takeReading = (number, reading) => taken.set(number, { reading, on: new Date().toISOString().slice(0, 10) });
const keyOf = (one) => `${one.id}|${one.with}`;

function note() {
  const steps = Object.fromEntries(STEPS.filter((one) => taken.has(one.step)).map((one) => [keyOf(one),
    { ...taken.get(one.step), title: one.title, ...Object.fromEntries(ASKED.map((part) => [part, one[part]])) }]));
  if (!stored(() => localStorage, NOTED, { digest: data.digest, steps }))
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
  if (/^(beeps?|silent)$/i.test(words)) return /^s/i.test(words) ? "silent" : "beeps";
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
  if (file) takeReadings(file.size > 1e6 ? "" : await file.text());
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
    else fresh.set(here.step, one.reading);
  }
  for (const one of fresh) takeReading(...one);
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
