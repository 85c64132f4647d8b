// What is not sent as a file, for the day on which a device dies, and taking such a file over.
// One row a line, since all photographs together are longer than a text may be.

import { items, unsent, CONFLICT, REFUSED, WAITING } from "./queue.js";
import { offset } from "./sending.js";
import { all, transact } from "./store.js";

const FORM = 1;
const KINDS = ["visit", "file", "queue"];

// Everything that the service does not have: handed over or not.
export async function exported() {
  const [waiting, open] = [await items(), await unsent()];
  const files = (await all("files")).filter((file) => file.blob);
  const visits = (await all("visits")).filter((visit) => open.has(visit.id));
  const lines = [line({ stationbook_field: FORM, saved_at: offset(new Date()) })];
  for (const visit of visits) lines.push(line({ visit }));
  for (const { blob, ...file } of files) {
    lines.push(new Blob([line({ file: { ...file, type: blob.type, content: await base64(blob) } })]));
  }
  for (const item of waiting) lines.push(line({ queue: item }));
  return new Blob(lines, { type: "application/jsonl" });
}

const line = (row) => `${JSON.stringify(row)}\n`;

const base64 = (blob) => new Promise((done, failed) => {
  const reader = new FileReader();
  reader.onload = () => done(reader.result.split(",", 2)[1] ?? "");
  reader.onerror = () => failed(reader.error);
  reader.readAsDataURL(blob);
});

// Takes a saved file over, and says how much of each kind was new. Ids stay: what has arrived arrives
// no second time, and what is on this device already is left as it is.
export async function imported(blob) {
  const taken = { visit: 0, file: 0, queue: 0 };
  let first = true;
  for await (const text of linesOf(blob)) {
    const row = read(text);
    if (first && row.stationbook_field !== FORM) throw new Error("this is no saved file of a field sheet");
    const kind = KINDS.find((each) => row[each]);
    if (!first && !kind) throw new Error("a line of it is none that a field sheet writes");
    if (kind && (await TAKERS[kind](row[kind]))) taken[kind]++;
    first = false;
  }
  if (first) throw new Error("it is empty");
  return taken;
}

async function* linesOf(blob) {
  const reader = blob.stream().pipeThrough(new TextDecoderStream()).getReader();
  let rest = [];
  for (let got; !(got = await reader.read()).done;) {
    const pieces = got.value.split("\n");
    while (pieces.length > 1) {
      yield rest.join("") + pieces.shift();
      rest = [];
    }
    rest.push(pieces[0]);
  }
  if (rest.join("")) yield rest.join("");
}

function read(text) {
  try {
    return JSON.parse(text);
  } catch {
    throw new Error("it is cut short, or no saved file of a field sheet");
  }
}

const TAKERS = { visit: takeVisit, file: takeFile, queue: takeItem };

function takeVisit(visit) {
  return added("visits", visit.id, visit);
}

function takeFile({ content, type, ...file }) {
  const bytes = Uint8Array.from(atob(content), (sign) => sign.charCodeAt(0));
  return added("files", file.id, { ...file, blob: new Blob([bytes], { type }) });
}

async function added(store, key, row) {
  let isNew = false;
  await transact([store], "readwrite", (at) => {
    at[store].get(key).onsuccess = ({ target }) => {
      isNew = target.result === undefined;
      if (isNew) at[store].put(row);
    };
  });
  return isNew;
}

async function takeItem({ seq: _, ...item }) {
  if (![WAITING, REFUSED, CONFLICT].includes(item.state)) throw new Error("an entry of it has no known state");
  let isNew = false;
  await transact(["queue", "visits"], "readwrite", (at) => {
    at.visits.get(item.visit).onsuccess = ({ target }) => {
      const arrived = target.result?.arrived ?? [];
      at.queue.getAll().onsuccess = (found) => {
        isNew = !arrived.includes(item.id) && !found.target.result.some((each) => each.id === item.id);
        if (isNew) at.queue.add({ ...item, state: WAITING });
      };
    };
  });
  return isNew;
}
