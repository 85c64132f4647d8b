// What the rules say, at the entry that it is about; silence never reads as approval.

import { clock, counted, el, printed, shown } from "./dom.js";
import { judging } from "./judge.js";
import { same, pruned } from "./pointing.js";

const GRAVITY = ["stop", "review", "note"];
const WORDS = { stop: "Stop", review: "Review", note: "Note" };

// What stands now: the service's own words where it has judged this very document, else ours.
export function standing(sheet) {
  const { held, verdict } = sheet;
  const current = held.told && held.sent && !Object.keys(held.plates ?? {}).length && without(held.sent.document, sheet.document);
  if (current) {
    return { by: "service", findings: held.told.findings, waiting: [],
      lacking: held.told.not_evaluated, refused: [], judged: verdict?.judged };
  }
  if (!verdict || verdict.outdated) return null;
  return { by: "device", findings: verdict.findings, waiting: verdict.waiting,
    lacking: verdict.not_evaluated, refused: verdict.refused, judged: verdict.judged };
}

const TIMES = ["device_time", "performed_at", "performed_until"];

function without(sent, document) {
  const bare = (given) => Object.fromEntries(Object.entries(pruned(given) ?? {}).filter(([name]) => !TIMES.includes(name)));
  return same(bare(sent), bare(document));
}

export function verdictLine(sheet) {
  const found = standing(sheet);
  if (!found) return [el("p", {}, el("strong", {}, "0 judged, all of it is waiting for signal"), `: ${why(sheet)}`)];
  const numbers = [
    found.judged === undefined ? "judged" : `${found.judged} judged`,
    `${found.waiting.length} waiting for signal`,
    `${found.lacking.length} cannot be judged`,
  ].join(", ");
  const grave = GRAVITY.map((each) => [each, found.findings.filter((one) => one.severity === each).length])
    .filter(([, number]) => number)
    .map(([each, number]) => el("span", { class: each }, counted(number, WORDS[each].toLowerCase())));
  const by = found.by === "service" ? `by the service, ${clock(sheet.held.sent.at)}` : "on this device";
  return [el("p", {}, el("strong", {}, numbers), ` (${by}). `,
    grave.length ? grave.flatMap((each, index) => (index ? [", ", each] : [each])) : "Nothing was found so far: that is no approval.",
    found.refused.length ? el("span", { class: "stop" }, `, ${counted(found.refused.length, "value")} cannot be taken`) : "",
    " ", el("a", { href: `#/visits/${sheet.held.id}/found` }, "All of it"))];
}

// Whether the pump set is in service no more, by what was taken along since the visit began.
export const isGone = ({ held, set }) => Boolean(held.pumpSet) && !set;

function why(sheet) {
  if (isGone(sheet)) return "this pump set is no longer in service by the register. What you enter is kept and sent, and judged by the service";
  if (sheet.trouble) return `the rules could not be applied (${sheet.trouble.trim().split("\n").at(-1)})`;
  if (sheet.verdict?.outdated) return "the rules have changed since this station was taken along";
  return judging().why ?? "the rules are being asked";
}

const bare = (subject) => subject.replace(/^\/event(?=\/|$)/, "");

// What somebody opened to read stays open while it is told anew, and keeps the focus.
export function keepingOpen(within, draw) {
  const key = (each) => each?.dataset.key;
  const open = new Set([...within.querySelectorAll("details[data-key][open]")].map(key));
  const focused = key(document.activeElement?.closest("details[data-key] > summary")?.parentElement);
  draw();
  for (const each of within.querySelectorAll("details[data-key]")) {
    if (open.has(key(each))) each.open = true;
    if (focused && key(each) === focused) each.firstElementChild.focus({ preventScroll: true });
  }
}

// Each finding below the innermost entry on this screen that its place lies in.
export function place(sheet) {
  const slots = [...sheet.at.querySelectorAll("[data-at]")];
  for (const slot of sheet.at.querySelectorAll(".found")) slot.replaceChildren();
  for (const each of sheet.at.querySelectorAll(".holds")) each.classList.remove("holds");
  const found = standing(sheet) ?? { findings: [], refused: [] };
  const told = [
    ...found.findings.map((each) => [bare(each.subject), finding(each, sheet.units)]),
    ...found.refused.map((each) => [each.pointer, refusal(each)]),
    ...sheet.problems.map((each) => [each.pointer ?? "", refusal(each)]),
  ];
  for (const [at, shownAs] of told) {
    const inside = slots.filter((slot) => at === slot.dataset.at || at.startsWith(`${slot.dataset.at}/`));
    const best = inside.sort((a, b) => b.dataset.at.length - a.dataset.at.length)[0];
    best?.querySelector(":scope > .found, :scope > * > .found")?.append(shownAs);
    mark(best);
  }
}

// A fold that is shut says that something was found in it.
function mark(entry) {
  for (let fold = entry?.closest("details"); fold; fold = fold.parentElement.closest("details")) {
    fold.classList.add("holds");
  }
}

export function finding(each, units) {
  const compared = (each.compared ?? []).map(({ name, value, unit }) =>
    el("div", {}, el("dt", {}, name.replaceAll("_", " ")), el("dd", {}, shown({ value, unit }, units))));
  return el("article", { class: `finding ${each.severity}` },
    el("p", {}, el("strong", {}, WORDS[each.severity]), ` ${printed(each.sentence, units)}`),
    each.remedy && el("p", {}, printed(each.remedy, units)),
    el("details", { "data-key": `${each.rule} ${each.subject}` }, el("summary", {}, "Arithmetic and source"),
      el("dl", {}, compared, each.limit ? el("div", {}, el("dt", {}, "limit"), el("dd", {}, printed(each.limit, units))) : null),
      el("p", { class: "about" }, `${each.rule}: ${each.source}`)));
}

const refusal = (each) => el("p", { class: "finding stop", role: "alert" },
  el("strong", {}, "Cannot be taken"), ` ${each.detail}. It is kept here, but not judged and not sent like this.`);

// The whole of it on one screen.
export function whole(sheet) {
  const found = standing(sheet);
  if (!found) return [el("p", {}, "Nothing has been judged yet. All of it is waiting for signal: ", why(sheet), ".")];
  const sorted = [...found.findings].sort((a, b) => GRAVITY.indexOf(a.severity) - GRAVITY.indexOf(b.severity));
  return [
    sorted.length ? el("div", {}, sorted.map((each) => at(sheet, each))) : el("p", {}, "Nothing was found so far. That is no approval."),
    part("Cannot be taken", found.refused.map((each) => el("li", {}, `${inWords(each.pointer)}: ${each.detail}`))),
    part("Waiting for signal", found.waiting.map((each) => lacking(each, sheet.pack.titles))),
    part("Cannot be judged", found.lacking.map((each) => lacking(each, sheet.pack.titles))),
    el("p", { class: "about" }, sheet.description.words.arithmetic),
  ].filter(Boolean);
}

const at = (sheet, each) => el("div", { class: "about-what" },
  el("p", { class: "about" }, inWords(bare(each.subject))), finding(each, sheet.units));

const part = (title, listed) => listed.length
  ? el("details", { class: "fold", "data-key": title }, el("summary", {}, `${title}: ${listed.length}`), el("ul", {}, listed)) : null;

function lacking(each, titles = {}) {
  const needs = (each.needs ?? []).map((place_) => inWords(bare(place_))).join("; ");
  const because = each.because || (each.waits_for ? `waits until “${titles[each.waits_for] ?? each.waits_for}” is settled` : "");
  return el("li", {}, `${each.title ?? titles[each.rule] ?? each.rule}: `, [because, needs && `needs ${needs}`].filter(Boolean).join("; ") || "–");
}

export const inWords = (pointer) => pointer.split("/").filter(Boolean)
  .map((step) => (/^\d+$/.test(step) ? String(Number(step) + 1) : step.replaceAll("_", " "))).join(", ") || "the visit";
