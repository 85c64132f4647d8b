// Entries, made from the service's description: label, what is known, the right keyboard, the unit.

import { button, el, shown } from "./dom.js";
import { join, read, write } from "./pointing.js";

// `sheet`: { document, units, unitOf(node, at), keepUnit(node, unit), beside(node, at),
//            pieces, changed(at, redraw) }
export function entry(sheet, node, at) {
  const told = ofThisSet(sheet, node, at);
  if (!told) return null;
  const draw = DRAWN[told.type];
  return draw ? draw(sheet, told, at) : el("p", {}, told.label);
}

// Where the pump set has no drive nothing is asked of one; what stands there already stays.
function ofThisSet(sheet, node, at) {
  if (!sheet.set || sheet.set.drive || sheet.set.pump_set.drive_shared_with?.length) return node;
  if (node.onlyOfDrive && read(sheet.document, at) === undefined) return null;
  return node.withoutDrive ? { ...node, label: node.withoutDrive } : node;
}

const DRAWN = {
  quantity, values, choice, position, boolean, count: number, text, time, name, names, group, list,
};

let numbered = 0;
const newId = () => `entry-${++numbered}`;

function framed(sheet, node, at, id, ...inputs) {
  const beside = sheet.beside(node, at);
  return el("div", { class: "entry", "data-at": at },
    el("label", { for: id }, node.label, node.needed && el("span", { class: "needed" }, "needed")),
    beside.length > 0 && el("p", { class: "beside" }, beside.join(" · ")),
    ...inputs,
    node.about && el("p", { class: "about" }, node.about),
    el("div", { class: "found" }));
}

const digits = (typed) => {
  const plain = typed.trim().replace(/[−–]/g, "-");
  // A comma before three digits may stand for a thousand: it stays as typed, and is refused.
  return /^-?\d*,\d+$/.test(plain) && !/^-?[1-9]\d{0,2},\d{3}$/.test(plain) ? plain.replace(",", ".") : plain;
};

function unitSelect(sheet, node, at, unit, onchange) {
  const options = node.units.map((each) =>
    el("option", { value: each, selected: each === unit }, sheet.units[each] || "(number)"));
  return el("select", { class: "unit", "aria-label": `Unit of ${node.label}`, onchange }, options);
}

function signButton(input, node) {
  return button("±", () => {
    input.value = input.value.startsWith("-") ? input.value.slice(1) : `-${input.value}`;
    input.dispatchEvent(new Event("input", { bubbles: true }));
    input.focus();
  }, { class: "sign", "aria-label": `Change the sign of ${node.label}` });
}

function quantity(sheet, node, at) {
  const id = newId();
  const now = read(sheet.document, at);
  const word = typeof now === "string" ? now : "";
  const input = el("input", { id, inputmode: "decimal", autocomplete: "off", enterkeyhint: "next",
    value: word ? "" : now?.value ?? "", placeholder: word ? shown(word) : null });
  const unit = unitSelect(sheet, node, at, now?.unit ?? sheet.unitOf(node, at), () => take(true));
  const take = (byUnit) => {
    if (byUnit) sheet.keepUnit(node, unit.value);
    const typed = digits(input.value);
    if (byUnit && !typed) return;
    write(sheet.document, at, typed ? { value: typed, unit: unit.value } : undefined);
    sheet.changed(at);
  };
  input.addEventListener("input", () => take(false));
  const also = (node.also ?? []).map(([value, words]) => button(words, () => {
    write(sheet.document, at, value);
    sheet.changed(at, true);
  }, { class: "also" }));
  return framed(sheet, node, at, id,
    el("div", { class: "q" }, node.signed && signButton(input, node), input, unit, also));
}

function values(sheet, node, at) {
  const now = read(sheet.document, at) ?? [];
  const unit = unitSelect(sheet, node, at, now.find(Boolean)?.unit ?? sheet.unitOf(node, at), () => {
    sheet.keepUnit(node, unit.value);
    take();
  });
  const id = newId();
  const inputs = node.labels.map((words, index) => el("input", {
    id: index ? null : id, inputmode: "decimal", autocomplete: "off", enterkeyhint: "next",
    value: now[index]?.value ?? "", "aria-label": `${node.label}, ${words}`, placeholder: words,
    oninput: () => take() }));
  const take = () => {
    const typed = inputs.map((input) => digits(input.value));
    const list = typed.map((value) => (value ? { value, unit: unit.value } : null));
    write(sheet.document, at, list.some(Boolean) ? list : undefined);
    sheet.changed(at);
  };
  return framed(sheet, node, at, id, el("div", { class: "q three" }, inputs, unit));
}

function choice(sheet, node, at) {
  const id = newId();
  const now = read(sheet.document, at);
  const options = [["", "–"], ...node.words].map(([value, words]) =>
    el("option", { value, selected: value === (now ?? "") }, words));
  const onchange = (event) => {
    const word = node.words.find(([value]) => String(value) === event.target.value)?.[0];
    write(sheet.document, at, word);
    sheet.changed(at);
  };
  return framed(sheet, node, at, id, el("select", { id, onchange }, options));
}

// One of the list beside it: kept by its index, named as people count.
function position(sheet, node, at) {
  const listed = read(sheet.document, join(at.split("/").slice(0, -1).join("/"), node.of)) ?? [];
  const words = listed.map((each, index) => [index, `${index + 1}: ${shown(each, sheet.units)}`]);
  return choice(sheet, { ...node, words }, at);
}

function boolean(sheet, node, at) {
  const now = read(sheet.document, at);
  const name = newId();
  const pick = (words, value) => el("label", { class: "pick" }, el("input", {
    type: "radio", name, id: value === true ? `${name}-yes` : null, checked: now === value,
    onchange: () => { write(sheet.document, at, value); sheet.changed(at); },
  }), words);
  const beside = sheet.beside(node, at);
  return el("fieldset", { class: "entry", "data-at": at },
    el("legend", {}, node.label, node.needed && el("span", { class: "needed" }, "needed")),
    beside.length > 0 && el("p", { class: "beside" }, beside.join(" · ")),
    el("div", { class: "picks" }, pick("Yes", true), pick("No", false), pick("Not entered", undefined)),
    node.about && el("p", { class: "about" }, node.about),
    el("div", { class: "found" }));
}

function number(sheet, node, at) {
  const id = newId();
  const input = el("input", { id, inputmode: "numeric", autocomplete: "off",
    value: String(read(sheet.document, at) ?? "") });
  input.addEventListener("input", () => {
    const typed = input.value.trim();
    write(sheet.document, at, /^\d{1,9}$/.test(typed) ? Number(typed) : typed || undefined);
    sheet.changed(at);
  });
  return framed(sheet, node, at, id, input);
}

function text(sheet, node, at) {
  const id = newId();
  const now = read(sheet.document, at) ?? "";
  const oninput = (event) => {
    write(sheet.document, at, event.target.value.trim() ? event.target.value : undefined);
    sheet.changed(at);
  };
  const long = ["remarks", "observed", "reason", "plate"].includes(node.name);
  const input = long
    ? el("textarea", { id, rows: 4, maxlength: "2000", oninput }, now)
    : el("input", { id, maxlength: "2000", value: now, oninput });
  return framed(sheet, node, at, id, input);
}

function time(sheet, node, at) {
  const id = newId();
  const now = read(sheet.document, at) ?? "";
  const onchange = (event) => {
    write(sheet.document, at, event.target.value ? sheet.moment(event.target.value) : undefined);
    sheet.changed(at);
  };
  return framed(sheet, node, at, id,
    el("input", { id, type: "datetime-local", value: now.slice(0, 16), onchange }));
}

function name(sheet, node, at) {
  const id = newId();
  const now = read(sheet.document, at);
  const options = [["", "–"], ...withNamed(sheet.pieces(node.of), now)].map(([value, words]) =>
    el("option", { value, selected: value === (now ?? "") }, words));
  const onchange = (event) => {
    write(sheet.document, at, event.target.value || undefined);
    sheet.changed(at);
  };
  return framed(sheet, node, at, id, el("select", { id, onchange }, options));
}

// What a visit from the book names in another way, or is not on this device, stays to be seen.
const withNamed = (pieces, ...named) => [...pieces,
  ...named.filter((each) => each && !pieces.some(([value]) => value === each)).map((each) => [each, UUID.test(each) ? "one that is not listed here" : each])];
const UUID = /^[0-9a-f-]{36}$/;

function names(sheet, node, at) {
  const now = new Set(read(sheet.document, at) ?? []);
  const picks = withNamed(sheet.pieces(node.of), ...now).map(([value, words]) => el("label", { class: "pick" },
    el("input", { type: "checkbox", checked: now.has(value), onchange: (event) => {
      if (event.target.checked) now.add(value);
      else now.delete(value);
      write(sheet.document, at, now.size ? [...now] : undefined);
      sheet.changed(at);
    } }), words));
  return el("fieldset", { class: "entry", "data-at": at }, el("legend", {}, node.label),
    el("div", { class: "picks tall" }, picks), el("div", { class: "found" }));
}

// -- what holds other entries ---------------------------------------------------------------------

function group(sheet, node, at) {
  return el("section", { class: "group", "data-at": at }, el("h3", {}, node.label),
    el("div", { class: "found" }), inside(sheet, node.fields, at));
}

// Fields in their groups; a group in which something stands or is known comes opened.
export function inside(sheet, fields, at) {
  const groups = new Map();
  for (const field of fields) {
    const named = field.group ?? "";
    groups.set(named, [...(groups.get(named) ?? []), field]);
  }
  return [...groups].map(([title, held]) => {
    const entries = held.map((field) => entry(sheet, field, join(at, field.name)));
    if (!title) return entries;
    const open = held.some((field) => read(sheet.document, join(at, field.name)) !== undefined);
    return el("details", { class: "fold", open }, el("summary", {}, title), entries);
  });
}

function list(sheet, node, at) {
  const elements = read(sheet.document, at) ?? [];
  const first = node.fields.find((field) => field.first && field.words);
  const drawn = elements.map((each, index) => element(sheet, node, join(at, index), each, index, first));
  const add = (given) => {
    const known = node.ids ? { id: crypto.randomUUID() } : {};
    write(sheet.document, join(at, elements.length), { ...known, ...given });
    sheet.changed(at, true);
  };
  const adding = first
    ? el("select", { class: "add", "aria-label": `Add: ${node.element}`, onchange: (event) => {
      if (event.target.value) add({ [first.name]: event.target.value });
    } }, el("option", { value: "" }, `Add: ${lower(node.element)} …`),
    first.words.map(([value, words]) => el("option", { value }, words)))
    : button(`Add: ${lower(node.element)}`, () => add({}), { class: "add" });
  return el("section", { class: "group", "data-at": at }, el("h3", {}, node.label),
    el("div", { class: "found" }), drawn, adding);
}

const lower = (words) => words.slice(0, 1).toLowerCase() + words.slice(1);

function element(sheet, node, at, held, index, first) {
  const named = first && first.words.find(([value]) => value === held?.[first.name])?.[1];
  const title = named ?? `${node.element} ${index + 1}`;
  const path = at.split("/").slice(0, -1).join("/");
  const drop = button(`Remove: ${lower(title)}`, () => {
    read(sheet.document, path).splice(index, 1);
    sheet.changed(path, true);
  }, { class: "remove" });
  return el("details", { class: "element", open: true, "data-at": at },
    el("summary", {}, title), el("div", { class: "found" }), inside(sheet, node.fields, at), drop);
}
