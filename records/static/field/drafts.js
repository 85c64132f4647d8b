// Drafts that stand in the book: opened here they are visits of this device, from the version read.

import { call, NoAnswer, telling } from "./api.js";
import { button, clock, counted, el } from "./dom.js";
import { noteSignedOut, REPLACES } from "./home.js";
import { subjectOf } from "./pack.js";
import { pruned } from "./pointing.js";
import { changed, isChanged } from "./queue.js";
import { within } from "./sending.js";
import { all, get, transact } from "./store.js";
import { unwrittenOf } from "./unwritten.js";

// The drafts of one station, asked for once the screen is there.
export function draftsInBook(at, site, pack) {
  const said = el("p", { role: "status" }, "Asking the book …");
  const listed = el("div");
  const ask = async () => {
    try {
      const drafts = await everyDraft(site);
      const here = new Set((await all("visits")).map((visit) => visit.id));
      listed.replaceChildren(drafts.length
        ? el("ul", { class: "cards" }, drafts.map((draft) => line(draft, pack, here.has(draft.id), said, replacingOf(draft, drafts)))) : "");
      said.textContent = drafts.length ? "" : "None: no visit at this station is open there.";
    } catch (error) {
      await noteSignedOut(error);
      said.textContent = `They cannot be listed now: ${error.message}. Drafts are opened where there is signal; what is on this device already stands under Visits.`;
      listed.replaceChildren(button("Ask again", asked));
    }
  };
  const asked = () => {
    said.textContent = "Asking the book …";
    return ask();
  };
  at.addEventListener("shown", ask, { once: true });
  return el("section", { id: "drafts" }, el("h2", {}, "Drafts in the book"), said, listed);
}

async function everyDraft(site) {
  const drafts = [];
  for (let path = `/events?site=${site}&state=draft&limit=200`; path;) {
    const { document } = await call("GET", path);
    drafts.push(...document.items);
    path = document.next ? document.next.slice(document.next.indexOf("/events")) : null;
  }
  return drafts;
}

// What sets a draft apart from a visit of its own day, where several look alike.
function replacingOf(draft, drafts) {
  if (!draft.corrects) return null;
  const others = drafts.filter((other) => other !== draft && other.corrects === draft.corrects).length;
  const also = others ? `, as ${counted(others, "other draft")} would: the first that is sealed does` : "";
  return `${REPLACES}${also}.`;
}

function line(draft, pack, isHere, said, replacing) {
  const pumpSet = draft.pump_set;
  const open = button(isHere ? "Open it: it is on this device" : "Open it here", async () => {
    open.disabled = true; // opened once, however often it is touched
    try {
      await opened(draft.id);
      if (open.isConnected) location.hash = `#/visits/${draft.id}`; // who has gone on meanwhile is not led back
    } catch (error) {
      said.textContent = `It could not be opened: ${error.message || error.name}.`;
      open.disabled = false;
    }
  });
  return el("li", { "data-draft": draft.id }, el("div", {}, el("strong", {}, subjectOf({ pumpSet }, pack)),
    el("span", {}, `${draft.kind.replaceAll("_", "-")} of ${clock(draft.performed_at)}`),
    replacing && el("span", { class: "replacing" }, replacing),
    el("span", { class: "quiet" }, `in the book since ${clock(draft.received_at)}`), open));
}

// What stands in the book is laid down here, unless this device has something of its own to say.
async function opened(id) {
  let book;
  try {
    book = await inBook(id);
  } catch (error) {
    if (error instanceof NoAnswer && await get("visits", id)) return; // as it is here
    throw error;
  }
  await transact(["visits", "queue", "files"], "readwrite", (at) => {
    at.visits.get(id).onsuccess = ({ target: { result: row } }) => {
      at.queue.getAll().onsuccess = ({ target: { result: waiting } }) => {
        at.files.getAll().onsuccess = ({ target: { result: listed } }) => {
          const files = listed.filter((file) => file.visit === id);
          const own = row && (isChanged(row) || unwrittenOf(id).size > 0
            || waiting.some((item) => item.visit === id) || files.some((file) => !file.handed));
          if (own) return;
          at.visits.put({ ...row, ...book.visit });
          const here = new Set(files.map((file) => file.id));
          for (const file of book.files) if (!here.has(file.id)) at.files.put(file);
        };
      };
    };
  });
  changed();
}

// The visit as the book has it, and which files it has of it: their bytes stay there.
async function inBook(id) {
  const { document: told, etag } = telling(id, await call("GET", `/events/${id}`));
  if (told.state !== "draft") throw new Error(`it is ${told.state} by now, and changes no more`);
  const [files, traces] = [await call("GET", `/events/${id}/attachments`), await call("GET", `/events/${id}/traces`)]
    .map((answer) => answer.document.items);
  const sent = (kind) => ({ id: file, name, purpose = null, sha256, sent_sha256: own, size }) => (
    { id: file, visit: id, kind, name, purpose, sha256: own ?? sha256, size, handed: true, sent: true });
  return { visit: fromBook(told, etag), files: [...files.map(sent("file")), ...traces.map(sent("trace"))] };
}

// A visit as if it had been begun here and sent: what changes goes out as a change of that version.
function fromBook(told, etag) {
  const document = within(told, {}); // three of it: what is entered changes one alone
  const at = new Date().toISOString();
  const own = { performed_at: document.performed_at, performed_until: document.performed_until };
  return {
    id: told.id, site: told.site, pumpSet: told.pump_set ?? null, tag: told.snapshot.pump_set?.tag,
    document: structuredClone(document), told, sent: { etag, document: structuredClone(document), own, at },
    handed: pruned(document), changed: at, opened: true,
  };
}

// What is to be known of a visit from the book: what it replaces, said at the office and not changed
// here, and that it was signed.
export function fromTheBook({ document, opened: isOpened, told }) {
  const { corrects, correction_reason: reason } = document;
  const signed = isOpened ? told.signatures.length : 0;
  return [
    corrects && el("p", { class: "told replacing" }, `Once it is sealed, this visit replaces a sealed record. Reason: ${reason}`),
    signed > 0 && el("p", { class: "told" }, `${counted(signed, "signature")} in the book: what you change here makes ${signed === 1 ? "it" : "them"} void.`),
  ].filter(Boolean);
}
