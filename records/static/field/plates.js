// Nameplates: what the book has of each piece, to be held against the plate itself.

import { el, shown } from "./dom.js";

const PARTS = [["pump", "Pump"], ["motor", "Motor"], ["drive", "Drive"]];
const ASIDE = new Set(["id", "site", "tag", "in_service_from", "out_of_service_on", "contractor", "client"]);

export function plates(sheet) {
  const own = new Set(sheet.set?.sensors ?? sheet.pack.sensors.map((each) => each.id));
  const pieces = [
    ...(sheet.set ? PARTS.map(([part, words]) => [`/${part}`, words, sheet.set[part]]) : []),
    ...sheet.pack.sensors.filter((each) => own.has(each.id)).map((each, index) => [`/sensors/${index}`, "Transmitter", each]),
    ...sheet.pack.vessels.map((each, index) => [`/vessels/${index}`, "Vessel", each]),
  ];
  return el("div", {},
    el("p", { class: "about" }, "Hold each plate against this. Where it differs, photograph the plate, and say so in the remarks: the office changes the register."),
    pieces.filter(([, , piece]) => piece).map(([at, words, piece]) => plate(sheet, at, words, piece)));
}

function plate(sheet, at, words, piece) {
  const rows = Object.entries(piece).filter(([name]) => !ASIDE.has(name)).flatMap(([name, value]) => lines(sheet, name, value));
  return el("details", { class: "fold", "data-at": at, open: at === "/motor" },
    el("summary", {}, `${words} ${piece.tag ?? ""}`), el("div", { class: "found" }), el("dl", { class: "pairs" }, rows));
}

function lines(sheet, name, value) {
  const words = name.replaceAll("_", " ");
  if (Array.isArray(value) && typeof value[0] === "object" && value[0] && !("unit" in value[0])) {
    return value.map((each, index) => pair(`${words.replace(/s$/, "")} ${index + 1}`,
      Object.entries(each).filter(([key]) => key !== "id")
        .map(([key, held]) => `${key.replaceAll("_", " ")} ${shown(held, sheet.units)}`).join(", ")));
  }
  return [pair(words, shown(value, sheet.units))];
}

const pair = (term, text) => el("div", {}, el("dt", {}, term.slice(0, 1).toUpperCase() + term.slice(1)), el("dd", {}, text));
