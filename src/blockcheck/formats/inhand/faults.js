// Faults: what explains the readings, from the table of single faults, and which step would tell more.
let FAULTS = [];

// The table of faults, made when the screen is first opened.
function takeTests({ steps, faults: table, maybe }) {
  const sized = new Set(table.sized);
  [STEPS, MAYBE] = [steps, maybe];
  FAULTS = table.words.map((words, number) => ({
    words, look: table.places[table.look[number]], weight: table.weight[number], sized: sized.has(number),
    reads: runsOf(table.steps[number], table.reads[number], table.values),
  }));
}

// Step -> what it reads, from the first and last step of each run of them that reads alike.
function runsOf(steps, reads, values) {
  const found = new Map();
  for (const [run, read] of reads.entries())
    for (let step = steps[2 * run]; step <= steps[2 * run + 1]; step++) found.set(step, values[read]);
  return found;
}

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
