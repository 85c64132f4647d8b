// Before a visit has values: what is dangerous at the station, and of what the visit is.

import { button, el, learn } from "./dom.js";
import { draftsInBook } from "./drafts.js";
import { isHazardous, setOf } from "./pack.js";
import { offset } from "./sending.js";
import { get, kept, put, transact } from "./store.js";
import { unwrittenOf } from "./unwritten.js";

export async function described() {
  const description = await (await fetch("/field/description.json")).json();
  learn(description.said ?? {});
  return description;
}

export async function beginning(at, site, tag) {
  const found = await get("packs", site);
  const description = await described();
  if (!found) {
    at.append(el("h1", {}, "Not on this device"), el("p", {}, "Take this station along first."));
    return;
  }
  const { pack } = found;
  const sets = pack.pump_sets.map((set) => [set.pump_set.id, set.pump_set.tag]);
  const which = select("which", "Pump set", [...sets, ["", "Transmitters only"]]);
  const kind = select("kind", "Kind of visit", description.kinds);
  const [chosen, kinds] = [which, kind].map((each) => each.querySelector("select"));
  chosen.value = startingWith(pack, tag && decodeURIComponent(tag));
  const usual = () => { kinds.value = isKnown(pack, chosen.value) ? "re_verification" : "start_up"; };
  chosen.addEventListener("change", usual);
  usual();
  const begin = button("Begin the visit", async () => {
    begin.disabled = true; // one visit, however often it is touched
    try {
      const visit = await begun(pack, site, chosen.value || null, kinds.value);
      location.hash = `#/visits/${visit.id}`;
    } catch (error) {
      said.textContent = `The visit could not begin: ${error.message || error.name}.`;
      begin.disabled = false;
    }
  }, { class: "main" });
  const said = el("p", { class: "told", role: "alert" });
  at.append(el("h1", {}, pack.site.name, el("span", { class: "quiet" }, pack.site.code)),
    hazard(pack) ?? "", cautions(pack.cautions, description, true), which, kind, begin, said,
    draftsInBook(at, site, pack));
}

// The pump set of the tag that was read, else the first; none at a transmitter that serves none.
function startingWith(pack, tag) {
  const ofNone = pack.sensors.some((each) => each.tag === tag) ? null : pack.pump_sets[0];
  return (setOf(pack, tag) ?? ofNone)?.pump_set.id ?? "";
}

// Whether it was visited before; transmitters alone are not started up.
const isKnown = (pack, id) => !id || Boolean(pack.pump_sets.find((set) => set.pump_set.id === id)?.last_settings);

const select = (id, words, options) => el("div", { class: "entry" }, el("label", { for: id }, words),
  el("select", { id }, options.map(([value, text]) => el("option", { value }, text))));

async function begun(pack, site, pumpSet, kind) {
  const id = crypto.randomUUID();
  const now = offset(new Date());
  const me = await kept("me");
  const document = { id, kind, site, performed_at: now, parties: { performed_by: me?.name } };
  if (pumpSet) document.pump_set = pumpSet;
  else document.sensors = pack.sensors.map((each) => each.id);
  const tag = pack.pump_sets.find((set) => set.pump_set.id === pumpSet)?.pump_set.tag; // also once it is gone
  const visit = { id, site, pumpSet, tag, document, sent: null, told: null, changed: new Date().toISOString() };
  await put("visits", visit);
  return visit;
}

// Before any value: a telephone has no place where the air can burn.
export function hazard(pack) {
  if (!isHazardous(pack)) return null;
  return el("div", { class: "hazard", role: "alert" },
    el("p", {}, el("strong", {}, "Explosive atmosphere. This telephone does not belong in the wet well."),
      " Leave it outside of the classified area, unless it is approved for it. Read there, write here."));
}

export function cautions(listed, description, open) {
  return el("details", { class: "cautions", open }, el("summary", {}, "Cautions"),
    el("dl", {}, listed.map(({ title, text }) => el("div", {}, el("dt", {}, title), el("dd", {}, text)))),
    el("p", {}, description.words.deference));
}

// A visit that was begun in error, and of which the office has nothing, can be let go; so can one that
// was opened from the book, with what was changed of it here.
export const canBeLetGo = ({ handed, opened }) => !handed || Boolean(opened);

export function discarding(held) {
  if (!canBeLetGo(held)) return null;
  const [offer, now, words] = held.opened
    ? ["Take this draft off this device", "Take it off now", "What was changed here since it was opened, and photographs taken here, are lost. The draft stays in the book as it stands there."]
    : ["Throw this visit away", "Throw it away now", "What was entered in this visit, and its photographs, are taken off this device. Nobody else has them."];
  const at = el("div", { class: "discarding" });
  const told = (words) => at.replaceChildren(el("p", { class: "told", role: "alert" }, words));
  const discard = async () => {
    try {
      if (await discarded(held.id)) location.hash = "#/";
      else told("It was handed over meanwhile, and stays.");
    } catch (error) {
      told(`It could not be thrown away: ${error.message || error.name}.`);
    }
  };
  const asked = () => {
    at.replaceChildren(el("div", { class: "caution", role: "alertdialog", "aria-label": offer },
      el("p", {}, words),
      button(now, discard, { class: "grave" }), button("Keep it", offered)));
    at.querySelector("button").focus();
  };
  const offered = () => at.replaceChildren(button(offer, asked, { class: "grave" }));
  offered();
  return at;
}

// Whether it is gone: not where it was handed over meanwhile, in another window as well.
async function discarded(visit) {
  let gone = true;
  await transact(["visits", "files"], "readwrite", (at) => {
    at.visits.get(visit).onsuccess = ({ target: { result: row } }) => {
      gone = !row || canBeLetGo(row);
      if (!gone) return;
      at.visits.delete(visit);
      at.files.getAll().onsuccess = ({ target: { result: files } }) => {
        for (const file of files.filter((each) => each.visit === visit)) at.files.delete(file.id);
      };
    };
  });
  if (gone) unwrittenOf(visit).clear();
  return gone;
}
