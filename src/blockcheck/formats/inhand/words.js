// Words: quantities and lists as the commands write them, and elements made of text alone.
const UNITS = {
  A: [["A", 1], ["mA", 1e-3], ["uA", 1e-6]], V: [["V", 1], ["mV", 1e-3]],
  m: [["km", 1e3], ["m", 1], ["cm", 1e-2], ["mm", 1e-3]], ohm: [["Mohm", 1e6], ["kohm", 1e3], ["ohm", 1], ["mohm", 1e-3]],
};
const IMPERIAL = [["ft", 0.3048], ["in", 0.0254]];

// To so many digits; what lies just between two goes to the even one, as the commands have it.
function rounded(value, digits) {
  const [mantissa, power] = value.toExponential(40).split("e"), point = mantissa.indexOf(".") + digits;
  const even = /[02468]\.?$/.test(mantissa.slice(0, point)) && /^50*$/.test(mantissa.slice(point));
  return even ? Number(`${mantissa.slice(0, point)}e${power}`) : Number(value.toPrecision(digits));
}

function show(value, unit, digits = 3) {
  const units = unit === "m" && data.imperial ? IMPERIAL : UNITS[unit];
  let number = 0, chosen = unit === "m" && data.imperial ? "ft" : unit;
  for (const [name, size] of value ? units : []) {
    [number, chosen] = [rounded(value / size, digits), name];
    if (Math.abs(number) >= 1) break;
  }
  return `${number}\u00a0${chosen}`;
}

function listed(names) { return names.length < 2 ? names.join("") : `${names.slice(0, -1).join(", ")} and ${names.at(-1)}`; }
function cut(names, most) { return names.length > most ? `${names.slice(0, most).join(", ")} and ${names.length - most} more` : listed(names); }
const plural = (count, word, words = `${word}s`) => `${count} ${count === 1 ? word : words}`;
const ORDER = new Map(data.switches.map((one, number) => [one.switch, number]));
const sorted = (switches) => [...switches].sort((one, two) => ORDER.get(one) - ORDER.get(two));

// An element: attributes, or its width, then children, each an element or text. No markup is ever read.
function make(tag, attributes = {}, ...children) {
  const found = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) found.addEventListener(name.slice(2), value);
    else if (name === "width") found.style.width = value;
    else if (value === true) found.setAttribute(name, "");
    else if (value !== false && value != null) found.setAttribute(name, value);
  }
  found.append(...children.flat().filter((one) => one != null && one !== false));
  return found;
}

// What is as it was is not written: all that is written is laid out again.
const put = (one, name, value) => one.getAttribute(name) === value || one.setAttribute(name, value);

// What is done when something of an element is touched, chosen or sent.
const hear = (root, which, does, event = "click") => root.querySelectorAll(which).forEach((one) => one.addEventListener(event, (sent) => does(one, sent)));

// Which of these are pressed.
function press(which, is) { for (const one of document.querySelectorAll(which)) put(one, "aria-pressed", String(is(one))); }
function button(words, does, attributes = {}) { return make("button", { type: "button", onclick: does, ...attributes }, words); }
