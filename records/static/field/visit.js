// One visit: its sections, what is kept with each change, what the rules say of it.

import { canBeLetGo, cautions, described, discarding, hazard } from "./beginning.js";
import { button, clock, el, inTurn, shown, word } from "./dom.js";
import { fromTheBook } from "./drafts.js";
import { inside, entry } from "./fields.js";
import { photographs, traces } from "./files.js";
import { isGone, keepingOpen, place, verdictLine, whole } from "./found.js";
import { judge, judging, onJudging, startJudging } from "./judge.js";
import { sides } from "./outbox.js";
import { subjectOf, withPlates } from "./pack.js";
import { plates } from "./plates.js";
import { join, pruned, read, same, write } from "./pointing.js";
import { CONFLICT, flush, hand, isChanged, items, onQueue, problemsOf } from "./queue.js";
import { offset } from "./sending.js";
import { signedWords, signing } from "./signing.js";
import { all, change, get, keep, kept, noted, StorageFull } from "./store.js";
import { tried, unwrittenOf } from "./unwritten.js";

const PAUSE = 350; // ms after the last sign before the rules are asked

let writing = Promise.resolve(); // what was typed last; a screen is drawn of what is kept

// -- the visit ------------------------------------------------------------------------------------

export async function visit(at, id, section) {
  await writing;
  const [held, description] = [await get("visits", id), await described()];
  const pack = held && (await get("packs", held.site))?.pack;
  if (!held || !pack) {
    at.append(el("h1", {}, "Not on this device"), el("p", {}, "This visit, or its station, is not here."));
    return;
  }
  const shownSection = section ?? held.place?.section ?? "before";
  const sheet = await Sheet.of(held, pack, description, at);
  sheet.show(shownSection);
  at.addEventListener("shown", () => {
    sheet.resume(held.place?.section === shownSection ? held.place : null);
    sheet.start();
  }, { once: true });
}

class Sheet {
  static async of(held, pack, description, at) {
    const sheet = new Sheet();
    const unwritten = unwrittenOf(held.id);
    for (const entered of unwritten.values()) entered(held);
    if (unwritten.size) held.changed = new Date().toISOString(); // what was judged is not this
    const set = pack.pump_sets.find((each) => each.pump_set.id === held.pumpSet) ?? null;
    Object.assign(sheet, { held, pack, description, at, set, document: held.document, unwritten, unkept: unwritten.size > 0,
      units: description.units, remembered: await kept("units", {}), problems: await problemsOf(held.id),
      verdict: isOf(held.verdict, held) ? held.verdict : null });
    return sheet;
  }

  // What entries ask of the sheet.

  unitOf(node, at) {
    const before = this.known(node, at);
    const own = node.kinds?.map((kind) => this.set?.units[kind]).find(Boolean);
    const held = at.startsWith("/settings/") ? this.set?.expected.beside[node.name]?.value : null;
    const plain = typeof held === "string" && /^[\d.]+$/.test(held) ? "1" : held?.unit;
    const offered = [before?.unit, this.remembered[node.name], plain, node.usual, node.usualBeside?.[this.set?.units.length], own, node.units[0]];
    return offered.find((unit) => node.units.includes(unit));
  }

  keepUnit(node, unit) {
    this.remembered[node.name] = unit;
    noted(keep("units", this.remembered));
  }

  known(node, at) {
    const left = this.set?.last_settings?.as_left;
    return at.startsWith("/settings/") ? read({ settings: { as_found: left, as_left: left } }, at) : undefined;
  }

  beside(node, at) {
    const told = [];
    const last = this.known(node, at);
    if (last !== undefined && last !== null && typeof last !== "boolean") told.push(`last left: ${shown(last, this.units)}`);
    if (typeof last === "boolean") told.push(`last left: ${last ? "yes" : "no"}`);
    const found = at.startsWith("/settings/as_left") && read(this.document, at.replace("as_left", "as_found"));
    if (found !== undefined && found !== false) told.push(`found: ${shown(found, this.units)}`);
    const held = at.startsWith("/settings/") && this.set?.expected.beside[node.name];
    if (held) told.push(`${held.which}: ${shown(held.value, this.units)}`);
    return told;
  }

  pieces(kind) {
    if (kind === "traces") return (this.traces ?? []).map((file) => [file.id, file.name]);
    const own = new Set(this.set?.sensors ?? []);
    const rows = kind === "sensors" && this.set
      ? this.pack.sensors.filter((each) => own.has(each.id)) : this.pack[kind];
    return rows.map((each) => [each.id, [
      each.tag ?? each.serial, each.tag ? each.serial : each.kind && word(each.kind), this.late(each),
    ].filter(Boolean).join(", ")]);
  }

  // A calibration that was due before the day of the visit.
  late({ due_on }) {
    const day = (this.document.performed_at ?? offset(new Date())).slice(0, 10);
    return due_on && due_on < day && `calibration overdue since ${due_on}`;
  }

  moment(local) {
    return offset(new Date(local));
  }

  // Each change is on the disk before anything else happens with it. Only what was changed is
  // written, so that a second window loses nothing; what could not be written goes along later.
  async changed(at, redraw = false) {
    this.unwritten.delete(at); // goes behind what an earlier screen left of the same list
    this.unwritten.set(at, (row) => write(row.document, at, structuredClone(read(this.document, at))));
    await this.keepChange(at, redraw);
  }

  // What a plate says in another way than the register; null where it says the same.
  async plateRead(address, plate, at) {
    const entered = (row) => {
      const { [address]: _, ...others } = row.plates ?? {};
      row.plates = plate ? { ...others, [address]: plate } : others;
    };
    entered(this.held);
    this.unwritten.set(address, entered);
    await this.keepChange(at, false);
  }

  async keepChange(at, redraw) {
    const changed = new Date().toISOString();
    const where = { section: this.section, at };
    this.held = { ...this.held, document: this.document, changed, place: where };
    const written = writing.then(() => this.store({ changed, place: where }));
    writing = written;
    if (redraw) this.show(this.section);
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.ask(), PAUSE);
    await written;
  }

  async store(beside = { changed: this.held.changed }) {
    const going = new Map(this.unwritten);
    try {
      const kept_row = await change("visits", this.held.id, (row) => Object.assign(this.withUnwritten(row, going), beside));
      if (!kept_row) throw new Error("the visit was taken off this device");
      for (const [key, entered] of going) { // unless it was entered anew meanwhile
        if (this.unwritten.get(key) === entered) this.unwritten.delete(key);
      }
      this.unkept = false;
      tried(this.held.id, true);
      this.said(`Kept on this device ${new Date().toLocaleTimeString("en-GB")}`);
    } catch (error) {
      this.unkept = true;
      tried(this.held.id, false);
      const words = error instanceof StorageFull
        ? "This device has no room left: what you enter now is NOT kept. Make room and leave the sheet open, or write it down."
        : `What you enter now is NOT kept (${error.message || error.name}). Leave the sheet open, or write it down.`;
      this.said(words, true);
    }
  }

  withUnwritten(row, going = this.unwritten) {
    for (const entered of going.values()) entered(row);
    return row;
  }

  // What was entered, once all of it is on the disk; otherwise null.
  async written() {
    await writing;
    if (this.unkept) await this.store(); // there may be room by now
    return this.unkept ? null : get("visits", this.held.id);
  }

  said(words, grave = false) {
    const line = this.at.querySelector(".kept");
    if (line) {
      line.textContent = words;
      line.classList.toggle("told", grave);
    }
  }

  // What the rules say.

  start() {
    this.listening = onJudging(() => (this.at.isConnected ? this.ask() : this.listening()));
    const queue = onQueue(inTurn(async () => {
      if (!this.at.isConnected) return queue();
      const pack = (await get("packs", this.held.site))?.pack;
      const problems = await problemsOf(this.held.id);
      const row = await get("visits", this.held.id); // last: what is entered meanwhile goes behind it
      if (!row) return;
      const { sent, told, handed, opened, lapsed, plates: plates_now } = this.withUnwritten(row);
      const before = answeredIn(this.held);
      Object.assign(this.held, { sent, told, handed, opened, lapsed, plates: plates_now });
      this.pack = pack ?? this.pack;
      this.problems = problems;
      this.tell();
      if (!same(before, answeredIn(this.held))) this.ask();
    }));
    startJudging();
    this.ask();
    if (this.unkept) this.written();
  }

  isJudged() {
    return isOf(this.verdict, this.held);
  }

  async ask() {
    if (!this.at.isConnected) return;
    const mine = (this.asking = (this.asking ?? 0) + 1);
    const [of, answered] = [this.held.changed, answeredIn(this.held)];
    if (judging().is !== "ready" || isGone(this)) {
      if (!this.isJudged()) this.verdict = null;
      this.tell();
      return;
    }
    const event = pruned(this.document) ?? {};
    const files = (await all("files")).filter((file) => file.visit === this.held.id);
    this.traces = files.filter((file) => file.kind === "trace");
    const named = files.filter((file) => file.kind === "file")
      .map(({ id, purpose, name, sha256 }) => ({ id, purpose, name, sha256 }));
    try {
      const pack = withPlates(this.pack, this.held.plates);
      const said = await judge(pack, this.held.pumpSet, event, named, answered);
      if (mine !== this.asking) return;
      this.verdict = said && { ...said, of, answered }; // nothing is said once the judge has stopped
      this.trouble = "";
      await noted(change("visits", this.held.id, (row) => ({ ...row, verdict: this.verdict })));
    } catch (error) {
      if (mine !== this.asking) return;
      this.verdict = null;
      this.trouble = error.message;
    }
    this.tell();
  }

  tell() {
    const line = this.at.querySelector(".verdict");
    if (!line) return;
    line.replaceChildren(...verdictLine(this));
    const signed = this.at.querySelector(".signed");
    const words = signedWords(this.held);
    if (signed && signed.textContent !== words) signed.textContent = words;
    if (!canBeLetGo(this.held)) this.at.querySelector(".discarding")?.remove();
    keepingOpen(this.at, () => {
      place(this);
      this.at.querySelector("#whole")?.replaceChildren(...whole(this));
    });
  }

  // What is seen.

  show(section) {
    this.section = section;
    const { description } = this;
    const listed = description.sections.find((each) => each.id === section);
    const body = section === "found" ? el("div", {}, el("div", { id: "whole" }), asides(this.held)) : this.body(listed);
    this.at.replaceChildren(this.head(), ...fromTheBook(this.held), hazard(this.pack) ?? "",
      cautions(this.set?.cautions ?? this.pack.cautions, description, section === "before"),
      el("h2", {}, listed?.title ?? "What was found"), body, this.onward());
    this.tell();
  }

  head() {
    const options = [...this.description.sections.map(({ id, title }) => [id, title]), ["found", "What was found"]];
    const to = el("select", { id: "section", "aria-label": "Section",
      onchange: (event) => this.go(event.target.value) },
    options.map(([value, words]) => el("option", { value, selected: value === this.section }, words)));
    return el("div", { class: "top" },
      el("h1", {}, `${subjectOf(this.held, this.pack)}, ${this.pack.site.name}`,
        el("span", { class: "quiet" }, `${this.document.kind.replaceAll("_", "-")}, begun ${clock(this.document.performed_at)}`)),
      el("div", { class: "sticky" }, el("div", { class: "verdict", role: "status" }), to,
        el("p", { class: "kept quiet" }, "Kept on this device")));
  }

  body(listed) {
    const entries = listed.fields.map((node) => {
      const at = node.at ? join(`/${node.at}`, node.name) : `/${node.name}`;
      const alone = node.type === "group" && node.at;
      return alone ? inside(this, node.fields, at) : entry(this, node, at);
    });
    const also = { plates, files: photographs, traces, as_left: asFound }[listed.id];
    const expected = listed.id === "readings" ? this.expected() : null;
    return el("div", { class: "section" }, also && also(this), expected, entries);
  }

  expected() {
    const points = this.set?.expected.points ?? [];
    if (!points.length) return null;
    const row = (point) => el("tr", {}, el("th", { scope: "row" }, shown(point.frequency, this.units)),
      el("td", {}, shown(point.flow, this.units)), el("td", {}, shown(point.shut_off_pressure, this.units)));
    return el("details", { class: "fold" }, el("summary", {}, "What to expect, this pump alone at the highest lift"),
      el("table", {}, el("thead", {}, el("tr", {}, ["Frequency", "Flow", "Pressure at closed valve"].map((words) => el("th", { scope: "col" }, words)))),
        el("tbody", {}, points.map(row))));
  }

  onward() {
    const order = this.description.sections.map((each) => each.id);
    const next = order[order.indexOf(this.section) + 1];
    const last = this.section === "rest" || this.section === "found";
    return el("div", { class: "onward" },
      next && !last && button(`On to: ${this.description.sections.find((each) => each.id === next).title}`, () => this.go(next), { class: "main" }),
      last && button("Hand over to the office", () => this.handOver(), { class: "main" }),
      last && button("Sign on this device", () => signing(this)),
      last && discarding(this.held),
      el("p", { class: "handed", role: "status" }, this.handedWords()),
      el("p", { class: "signed", role: "status" }), el("div", { class: "signing" }));
  }

  handedWords() {
    if (!this.held.handed) return "Not handed over yet. You can hand over at any time, and again after a change.";
    if (this.held.opened) return isChanged(this.held) ? "Changed since it was opened: hand it over." : "As it stands in the book.";
    return isChanged(this.held) ? "Changed since it was handed over: hand it over again." : "Handed over as it stands.";
  }

  go(section) {
    writing = writing.then(() => noted(change("visits", this.held.id, (row) => ({ ...row, place: { section } }))));
    location.hash = `#/visits/${this.held.id}/${section}`;
  }

  // Of what is kept: a second window may have entered something, too.
  async handOver() {
    const row = await this.written();
    const line = this.at.querySelector(".handed");
    if (!row) {
      line.textContent = "Not handed over: not all of it could be kept on this device. Make room first.";
      return;
    }
    if ((await items()).some((item) => item.visit === row.id && item.kind === "event" && item.state === CONFLICT)) {
      location.hash = "#/not-sent";
      return;
    }
    try {
      await hand(row, pruned(row.document));
    } catch (error) {
      line.textContent = `Not handed over: ${error.message}. What you entered is kept.`;
      return;
    }
    line.textContent = "Handed over: it goes out as soon as there is signal.";
    await flush();
  }

  // Back to the entry at which it was interrupted.
  resume(where) {
    const found = where?.at && this.at.querySelector(`[data-at="${CSS.escape(where.at)}"]`);
    const input = found?.querySelector("input, select, textarea");
    if (!input) return scrollTo(0, 0);
    for (let fold = found.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
    input.focus({ preventScroll: true });
    return found.scrollIntoView({ block: "center" });
  }
}

// Findings of the book that somebody answered: the service tells them by themselves, and so do we.
const answeredIn = ({ told }) => (told?.findings ?? []).filter((each) => each.answer)
  .map(({ rule, subject }) => [rule, subject]);

// Whether a verdict is of what stands here now, and was told with the answers that are known now.
const isOf = (verdict, held) => verdict?.of === held.changed && same(verdict.answered ?? [], answeredIn(held));

// What a person put aside when the service had another version: it stays to be read.
function asides({ aside = [], document }) {
  return aside.map((each) => el("details", { class: "fold" },
    el("summary", {}, `What you put aside ${clock(each.at)}`), sides(pruned(each.document), document)));
}

// Most settings stay as they were found: they are taken over where nothing else was entered.
function asFound(sheet) {
  const found = sheet.document.settings?.as_found;
  return button("As found, wherever nothing is entered", () => {
    sheet.document.settings = { ...sheet.document.settings,
      as_left: { ...structuredClone(found ?? {}), ...(pruned(sheet.document.settings?.as_left) ?? {}) } };
    sheet.changed("/settings/as_left", true);
  }, { class: "add", disabled: !found });
}
