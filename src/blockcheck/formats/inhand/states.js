// States: what isolate says of any positions of the switches, by the minimal ways of current that the page holds.
const SWITCH = new Map(data.switches.map((one) => [one.switch, one]));
const BLOCK = new Map(data.blocks.map((one) => [one.block, one]));
const DISTRICT = new Map(data.districts.map((one) => [one.district, one]));

// How everything stands: a way of operating, and what was moved on top of it (switch -> position). The last ones are kept.
const STOOD = new Map();
function stand(number, moved = {}) {
  const key = JSON.stringify([number, moved]), state = data.states[number];
  if (STOOD.has(key)) return STOOD.get(key);
  const at = (name) => moved[name] ?? state.positions[name] ?? SWITCH.get(name)?.usual;
  const holds = data.contacts.map((one) => at(one.control) === one.at);
  const whole = (ways) => (ways === null ? null : ways.some((way) => way.every((contact) => holds[contact])));
  const found = { state, moved, at, blocks: new Map(data.blocks.map((block) => [block.block, now(block, whole)])) };
  found.carried = carried(found);
  if (STOOD.size > 99) STOOD.clear();
  STOOD.set(key, found);
  return found;
}

const canStand = (name, at) => data.contacts.some((one) => one.control === name && one.at === at);

// Power and detection of one block; null where its ways are too many for the file.
function now(block, whole) {
  const on = whole(block.on), trickle = on ? true : whole(block.trickle);
  const power = on === null || (!on && trickle === null) ? null : on ? "on" : trickle ? "trickle" : "off";
  if (block.channel === null) return { power, detection: null };
  if (!block.known) return { power: "off", detection: null };
  if (power === null) return { power, detection: undefined };
  const reads = power === "on" ? whole(block.reads) : false;
  if (reads) return { power, detection: "working" };
  const held = power === "off" ? false : whole(block.held);
  const detection = reads === null || held === null ? undefined : held ? "held" : "blind";
  return { power, detection };
}

// Everything that isolate tells: `base` is how it stood before.
function answer(base, after) {
  const opened = sorted(Object.keys(after.moved).filter((name) => after.moved[name] === SWITCH.get(name).open));
  const closed = sorted(Object.keys(after.moved).filter((name) => !opened.includes(name)));
  const rows = new Map(data.blocks.map((block) => [block.block, row(block, base, after, [...opened, ...closed])]));
  const trains = after.state.trains.map((train) => sleeps(train, rows.get(train.block)));
  const districts = data.districts.map(({ district, limit }) => (
    { district, limit, before: base.carried.get(district), after: after.carried.get(district) }));
  const unmeant = [...rows.values()].filter((one) => one.intended === false);
  return { scenario: after.state.scenario, opened, closed, rows, trains, districts, unmeant, isOpen: isOpen(after) };
}

function row(block, base, after, moved) {
  const [was, is] = [base.blocks.get(block.block), after.blocks.get(block.block)];
  const same = was.power === is.power && was.detection === is.detection;
  const changed = is.power === null || was.power === null ? null : !same;
  const trains = after.state.trains.filter((one) => one.block === block.block).map((one) => one.train);
  if (!block.known) return { ...block, ...is, changed: false, trains, because: [], intended: true, home: block.district };
  return { ...block, ...is, changed, trains, because: is.power === "on" ? [] : because(block, after, moved, changed),
    intended: intended(block, is, after, changed), home: homed(block, base) };
}

const isOpen = (after) => (name) => SWITCH.has(name) && after.at(name) === SWITCH.get(name).open;

function because(block, after, moved, changed) {
  for (const names of [block.feed, block.meant]) {
    const open = names.filter(isOpen(after));
    if (open.length) return sorted(open);
  }
  const kills = moved.filter((name) => SWITCH.get(name).kills.includes(block.block));
  return kills.length ? kills : changed ? moved : [];
}

function intended(block, is, after, changed) {
  const meant = block.meant.filter(isOpen(after));
  if (is.power === null || is.detection === undefined) return null;
  if (!meant.length) return !changed || (is.power === "on" && block.meant.some((name) => name in after.moved));
  if (is.power === "on") return false;
  if (is.power === "trickle" && data.may_wake) return null;
  if (is.detection === null) return true;
  const wants = new Set(meant.map((name) => SWITCH.get(name).detection));
  return is.detection === (wants.size === 1 && wants.has("held") ? "held" : "blind");
}

function sleeps(train, row) {
  const unsure = row.power === null || (row.power === "trickle" && data.may_wake);
  const powered = !row.known ? false : unsure ? null : row.power === "on";
  return { train: train.train, block: train.block, powered, reads: reads(train, row), length: train.length };
}

// Null where it is asked live only.
function reads(train, row) {
  if (row.channel === null || !row.known) return "unknown";
  if (row.detection === "blind") return "clear";
  return row.detection === "working" ? train.reads : row.detection === "held" ? train.reads_held : null;
}

// Who is fed now, the districts in which trains are placed, and where what a district expects stands: in what is awake
// in it as usual, and in what is awake in it instead.
function fed(after) {
  const power = (name) => after.blocks.get(name).power;
  const reached = new Map(data.blocks.filter((one) => one.known && power(one.block) !== "off").map((one) => [one.block, homed(one, after)])
    .filter(([, home]) => home !== null));
  const supply = new Map([...reached].filter(([name]) => power(name) === "on"));
  const usual = after.state === data.states[0] && !Object.keys(after.moved).length ? after : stand(0);
  const usually = (block) => (usual.blocks.get(block).power === "on" ? homed(BLOCK.get(block), usual) : null);
  const placed = new Set(after.state.trains.map(({ block }) => supply.get(block) ?? usually(block) ?? BLOCK.get(block).district));
  const spoken = new Set(data.districts.flatMap((one) => one.usual)), free = (name, own) => !own.length || !spoken.has(name);
  const places = ({ district, usual: own }) => [...own.filter((name) => reached.has(name) && !placed.has(reached.get(name))),
    ...[...supply.keys()].filter((name) => supply.get(name) === district && !BLOCK.get(name).throat && free(name, own))];
  return { power, reached, placed, places };
}

// What each district carries: as budget sums it. Null where that is asked live only.
function carried(after) {
  const { power, reached, placed, places } = fed(after);
  const meant = fed(Object.keys(after.moved).length ? stand(data.states.indexOf(after.state)) : after);
  const draws = new Map(), add = (name, amperes) => draws.set(name, (draws.get(name) ?? 0) + amperes);
  for (const train of after.state.trains) if (reached.has(train.block)) add(train.block, train.current);
  for (const one of data.districts.filter(({ district }) => !placed.has(district))) {
    const here = places(one), most = Math.max(one.usual.length, meant.places(one).length, here.length, 1);
    for (const name of here) draws.set(name, one.expected / most);
  }
  const sums = new Map(data.districts.map((one) => [one.district, 0]));
  for (const [name, district] of reached) {
    const held = power(name) === "trickle";
    const axles = BLOCK.get(name).across + after.state.trains.filter((one) => one.block === name).reduce((sum, one) => sum + one.axles, 0);
    const amperes = (held ? 0 : draws.get(name) ?? 0) + across(name, district, axles, held, after);
    const lost = power(name) === null || (held && data.draws_held && draws.get(name));
    sums.set(district, lost || sums.get(district) === null ? null : sums.get(district) + amperes);
  }
  for (const [name, sum] of sums) if (sum !== null) sums.set(name, Math.abs(sum) < 1e-12 ? 0 : Number(sum.toPrecision(9)));
  return sums;
}

const homed = (block, { at }) => block.chooses.map(at).filter((place) => place !== "off").at(-1) ?? block.district;

// What axles, and what lies across the rails for good, let through; a hold resistor in front of them.
function across(name, district, siemens, held, after) {
  const volts = DISTRICT.get(district).booster;
  if (!siemens || volts === null) return 0;
  if (!held) return volts * siemens;
  const holding = (one) => SWITCH.get(one)?.hold != null && after.at(one) !== "closed";
  const own = BLOCK.get(name).feed.filter(holding).map((one) => SWITCH.get(one).hold);
  const every = data.switches.filter((one) => holding(one.switch)).map((one) => one.hold);
  return volts / (1 / siemens + (own.length ? Math.max(...own) : every.length ? Math.min(...every) : 0));
}

// The interlock that a state breaks, in words; null where it can be.
function broken(after) {
  const held = (bar) => bar.holds.filter((one) => after.at(one.control) === one.at);
  const bar = data.bars.find((one) => held(one).length > one.most), places = new Map();
  for (const one of bar ? held(bar) : []) places.set(one.at, [...(places.get(one.at) ?? []), one.control]);
  return bar ? `${[...places].map(([at, names]) => `${cut(names, 6)} ${placed(at)}`).join(" and ")} cannot be: ${bar.says}` : null;
}

const placed = (at) => (["closed", "open", "off", "through", "diverging"].includes(at) ? at : `at ${at}`);
