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
  const usual = one.value ?? OPEN;
  if (fault.sized) return right(one, value) ? slight(one, usual, told) : value > usual === told > usual;
  const room = one.kind === "volts" ? 0.15 * told + 0.3 : one.with === "meter" ? 0.1 * told + 0.2 : 0.15 * told + 0.005;
  return Math.min(value, OPEN) === told || Math.abs(value - told) <= room;
}

// Whether a fault of a typical size moves a reading so little that a smaller one leaves it as it should be.
const slight = (one, usual, told) => Math.abs(told - usual) <= 2.5 * Math.abs((told > usual ? one.high ?? OPEN : one.low ?? 0) - usual);

// What explains what was read: as it stands, or all ohms off by one share, where that leaves less.
function explained() {
  const read = STEPS.filter((one) => taken.has(one.step)).map((one) => [one, understood(one, taken.get(one.step).reading)]);
  const ohms = read.filter(([one, value]) => one.with === "supply" && one.kind === "ohms" && value < OPEN && one.value < OPEN);
  const share = ohms.map(([one, value]) => value / one.value).sort((one, two) => one - two)[Math.floor(ohms.length / 2)];
  const plain = leastLeft(read);
  if (ohms.length < 5 || plain.left < 2 || share < 0.7 || share > 1.4) return plain;
  const made = leastLeft(read.map(([one, value]) => [one, ohms.some(([own]) => own === one) ? value / share : value]));
  return made.left + 1 < plain.left ? { ...made, share } : plain;
}

// The faults that leave least unexplained, the likeliest first; only such as explain something that is off.
function leastLeft(read) {
  const off = read.filter(([one, value]) => !right(one, value));
  let left = off.length, found = [];
  for (const fault of off.length ? FAULTS : []) {
    let misfit = 0;
    for (const [one, value] of read) if (!fits(fault, one, value) && ++misfit > left) break;
    if (misfit > left || !off.some(([one, value]) => fits(fault, one, value))) continue;
    if (misfit < left) [left, found] = [misfit, []];
    found.push(fault);
  }
  return { off, found: found.sort((one, two) => two.weight - one.weight), read, left };
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
