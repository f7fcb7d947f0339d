// Faults: what explains the readings, from the table of single faults, and which step would tell more.
const OPEN = 1e5;
let FAULTS = [];

// The table of faults, made when the screen is first opened.
function takeTests({ steps, faults: table, maybe }) {
  const sized = new Set(table.sized), spelled = (text) => text.map((one) => (typeof one === "number" ? table.phrases[one] : one)).join("");
  [STEPS, MAYBE] = [steps, maybe];
  FAULTS = table.words.map((words, number) => ({
    words: spelled(words), look: spelled(table.places[table.look[number]]), weight: table.weight[number], sized: sized.has(number),
    reads: runsOf(table.steps[number], table.reads[number], table.values),
  }));
}

// Step -> what it reads, from the first and last step of each run of them that reads alike.
const runsOf = (steps, reads, values) => new Map(reads.flatMap((read, run) =>
  Array.from({ length: steps[2 * run + 1] - steps[2 * run] + 1 }, (_, more) => [steps[2 * run] + more, values[read]])));

// Whether a fault that changes a step would read so.
function fits(fault, one, value) {
  const told = fault.reads.get(one.step);
  if (one.names !== null) {
    const [sure, perhaps = ""] = told.split("; perhaps "), names = (text) => text.split(", ").filter((name) => name && name !== "none");
    return value !== "ok" && (sure.startsWith("+") ? mayBe(value, [...one.names, ...names(sure.slice(1))], MAYBE[one.step] ?? [])
      : mayBe(value, names(sure), names(perhaps)));
  }
  if (value === "ok") return false;
  if (typeof told === "string") return told.includes(typeof value === "string" ? value : value < 5 ? "beeps" : "silent");
  if (typeof value === "string") return value === (told < 5 ? "beeps" : "silent");
  const usual = one.value ?? OPEN;
  if (fault.sized) return right(one, value) ? slight(one, usual, told) : value > usual === told > usual;
  const room = one.kind === "volts" ? 0.15 * told + 0.3 : one.with === "meter" ? 0.1 * told + 0.2 : 0.15 * told + 0.005;
  return Math.min(value, OPEN) === told || Math.abs(value - told) <= room;
}

// Whether a fault of a typical size moves a reading so little that a smaller one leaves it as it should be.
const slight = (one, usual, told) => Math.abs(told - usual) <= 2.5 * Math.abs((told > usual ? one.high ?? OPEN : one.low ?? 0) - usual);

// How many more ohms rails, wires and joints have than is reckoned with, as shares: least squares about what is usual, one
// after the other, in which a reading far off counts less (Student's t with 5 degrees), as trace has it.
const factor = ({ made }, more) => Math.max(0.3, 1 + made.reduce((sum, part, at) => sum + part * more[at], 0));
function material(ohms) {
  const more = [0, 0, 0], usual = [0.2, 0.08, 0.7];
  for (let turn = 0; turn < 60; turn += 1) {
    let up = 0, down = usual[turn % 3] ** -2;
    for (const [one, read] of ohms) {
      const off = read - one.value * factor(one, more), slope = one.value * one.made[turn % 3];
      const sigma = 0.02 * one.value + (one.with === "meter" ? 0.05 : 0.002), weight = 6 / (5 * sigma ** 2 + off ** 2);
      [up, down] = [up + weight * slope * (off + slope * more[turn % 3]), down + weight * slope ** 2];
    }
    more[turn % 3] = up / down;
  }
  return more;
}

// What explains what was read: as it stands, or with rails, wires and joints as they are made, where that leaves less. Pieces
// of one kind differ, so that then all that is near is right.
function explained() {
  const read = STEPS.filter((one) => taken.has(one.step)).map((one) => [one, understood(one, taken.get(one.step).reading)]);
  const plain = leastLeft(read), ohms = read.filter(([one, value]) => one.made && value < OPEN), more = material(ohms);
  if (ohms.length < 5 || !plain.left) return plain;
  const near = (one, value) => (Math.abs(value - one.value) > 0.8 * (one.high - one.low) ? value : one.value);
  const made = leastLeft(read.map(([one, value]) => [one, one.made && value < OPEN ? near(one, value / factor(one, more)) : value]));
  const worse = made.found.length ? made.left - 1 : made.left + (plain.found.length ? 1 : 0);
  return worse < plain.left ? { ...made, more } : plain;
}

// The faults that leave least unexplained, the likeliest first; only such as explain something that is off.
function leastLeft(read) {
  const off = new Set(read.filter(([one, value]) => !right(one, value)).map(([one]) => one.step));
  const values = new Map(read.map((pair) => [pair[0].step, pair]));
  let left = off.size, found = [];
  for (const fault of off.size ? FAULTS : []) {
    let misfit = off.size, explains = false;
    for (const step of fault.reads.keys()) {
      const fit = values.has(step) && fits(fault, ...values.get(step));
      if (off.has(step)) [explains, misfit] = [explains || fit, misfit - fit];
      else if (values.has(step)) misfit += !fit;
    }
    if (misfit > left || !explains) continue;
    if (misfit < left) [left, found] = [misfit, []];
    found.push(fault);
  }
  return { off: [...off], found: found.sort((one, two) => two.weight - one.weight), read, left };
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
