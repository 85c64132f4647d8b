// Nameplates: what the register has of each piece, and what its plate says where that differs.
// What is entered here goes to the register, before the visit that is judged by it.

import { button, el, shown } from "./dom.js";
import { inside } from "./fields.js";
import { PARTS } from "./pack.js";
import { pruned, read, same, write } from "./pointing.js";

// Every piece that the visit is about: its place in the subject, its address, what it is called.
function pieces(sheet) {
  const { pack, set } = sheet;
  const own = new Set(set?.sensors ?? pack.sensors.map((each) => each.id));
  const listed = (rows, kind, words) => rows.map((piece, index) => ({ at: `/${kind}/${index}`, kind, words, piece }));
  return [
    ...(set ? PARTS.map(([part, kind, words]) => ({ at: `/${part}`, kind, words, piece: set[part] })) : []),
    ...listed(pack.sensors.filter((each) => own.has(each.id)), "sensors", "Transmitter"),
    ...listed(pack.vessels, "vessels", "Vessel"),
  ].filter(({ piece }) => piece);
}

export function plates(sheet) {
  return el("div", {},
    el("p", { class: "about" }, "Hold each plate against this. Where it differs, photograph the plate and enter what it says, in its own units."),
    pieces(sheet).map((each) => plate(sheet, each)));
}

function plate(sheet, { at, kind, words, piece }) {
  const address = `${kind}/${piece.id}`;
  const nodes = sheet.description.plates[kind];
  const body = el("div");
  const state = el("p", { class: "beside", role: "status" });
  const tell = () => { state.textContent = differing(sheet.held.plates?.[address], nodes); };
  const listed = () => el("div", {}, el("dl", { class: "pairs" }, nodes.flatMap((node) => lines(sheet, node, piece[node.name]))),
    button("The plate says something else", () => body.replaceChildren(entries()), { class: "add" }));
  const entries = () => {
    const draw = () => body.replaceChildren(entries());
    return el("div", {}, inside(reading(sheet, { at, address, piece, nodes, tell, draw }), nodes, at));
  };
  body.append(sheet.held.plates?.[address] ? entries() : listed());
  tell();
  return el("details", { class: "fold", "data-at": at, open: at === "/motor" || Boolean(sheet.held.plates?.[address]) },
    el("summary", {}, `${words} ${piece.tag ?? ""}`), el("div", { class: "found" }), state, body);
}

function differing(plate, nodes) {
  if (!plate) return "";
  const named = nodes.filter(({ name }) => name in plate.read).map(({ label }) => label.toLowerCase());
  return `Differs from the register in: ${named.join(", ")}. ${plate.handed ? "Handed over." : "Not handed over yet."}`;
}

// What entries ask of a sheet, answered for one plate.
function reading(sheet, { at, address, piece, nodes, tell, draw }) {
  const document = {};
  write(document, at, structuredClone({ ...piece, ...sheet.held.plates?.[address]?.read }));
  const registered = (where) => (where === at ? piece : read(piece, where.slice(at.length)));
  return {
    document,
    units: sheet.units,
    unitOf: (node, where) => registered(where)?.unit ?? node.kinds?.map((each) => sheet.set?.units[each]).find((unit) => node.units.includes(unit)) ?? node.units[0],
    keepUnit() {},
    beside: (node, where) => {
      const held = registered(where);
      return held === undefined || typeof held === "object" && !held?.unit ? [] : [`in the register: ${counted(node, held, sheet.units)}`];
    },
    pieces: () => [],
    moment: (local) => sheet.moment(local),
    async changed(where, redraw = false) {
      await sheet.plateRead(address, difference(nodes, piece, read(document, at)), where);
      tell();
      if (redraw) draw();
    },
  };
}

// What the plate says otherwise, and what the register had there.
function difference(nodes, piece, now) {
  const names = nodes.map(({ name }) => name)
    .filter((name) => !same(pruned(now[name]) ?? null, piece[name] ?? null));
  if (!names.length) return null;
  return {
    read: Object.fromEntries(names.map((name) => [name, pruned(now[name]) ?? null])),
    before: Object.fromEntries(names.map((name) => [name, piece[name] ?? null])),
    handed: false,
  };
}

// An index as people count it.
const counted = (node, value, units) => (node.type === "position" ? String(value + 1) : shown(value, units));

function lines(sheet, node, value) {
  if (value === undefined || value === null) return [];
  if (node.type === "list") {
    return value.map((each, index) => pair(`${node.element} ${index + 1}`, node.fields
      .filter(({ name }) => each[name] !== undefined && each[name] !== null)
      .map(({ name, label }) => `${label.toLowerCase()} ${shown(each[name], sheet.units)}`).join(", ")));
  }
  return [pair(node.label, counted(node, value, sheet.units))];
}

const pair = (term, text) => el("div", {}, el("dt", {}, term), el("dd", {}, text));

