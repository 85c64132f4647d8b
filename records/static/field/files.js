// Photographs, documents and recorded traces: kept on the device until the service has them.

import { button, el, inTurn } from "./dom.js";
import { onQueue } from "./queue.js";
import { all, put, StorageFull, transact } from "./store.js";

const hex = (bytes) => [...new Uint8Array(bytes)].map((byte) => byte.toString(16).padStart(2, "0")).join("");

const mine = async (sheet, kind) =>
  (await all("files")).filter((file) => file.visit === sheet.held.id && file.kind === kind);

async function keepFile(sheet, kind, file, purpose) {
  const blob = new Blob([await file.arrayBuffer()], { type: file.type });
  const sha256 = hex(await crypto.subtle.digest("SHA-256", await blob.arrayBuffer()));
  const row = { id: crypto.randomUUID(), visit: sheet.held.id, kind, name: file.name, purpose, blob, sha256,
    at: new Date().toISOString(), handed: false, sent: false };
  await put("files", row);
}

export function photographs(sheet) {
  const purposes = sheet.description.purposes;
  const purpose = el("select", { id: "purpose" }, purposes.map(([value, words]) => el("option", { value }, words)));
  const camera = picker("Take a photograph", "camera", { accept: "image/*", capture: "environment" });
  const chosen = picker("Choose a file", "chosen", {});
  return shelf(sheet, "file", [
    el("div", { class: "entry" }, el("label", { for: "purpose" }, "Of what"), purpose), camera, chosen,
  ], [camera, chosen], () => purpose.value,
  "A photograph is drawn anew by the service: its position and camera data do not come along.");
}

export function traces(sheet) {
  const chosen = picker("Choose a trace (CSV)", "trace", { accept: ".csv,text/csv" });
  return shelf(sheet, "trace", [chosen], [chosen], () => null,
    "The first row names each column with its unit: time [s],feedback [bar]. The rows are judged once the service has them; until then they are waiting for signal.");
}

const picker = (words, id, given) => el("p", { class: "picker" },
  el("label", { for: id, class: "button" }, words), el("input", { id, type: "file", ...given }));

function shelf(sheet, kind, entries, pickers, purposeOf, words) {
  const listed = el("ul", { class: "cards files" });
  const said = el("p", { role: "status", class: "told" });
  let shown = "";
  const draw = inTurn(async () => {
    const files = await mine(sheet, kind);
    const now = JSON.stringify(files.map(({ id, handed, sent }) => [id, handed, sent]));
    if (now !== shown) listed.replaceChildren(...files.map((file) => row(sheet, file, draw)));
    shown = now; // else it stays, and with it where the focus is
  });
  let wasThere = false; // a section is made before it is shown
  const stop = onQueue(() => {
    wasThere ||= listed.isConnected;
    return wasThere && !listed.isConnected ? stop() : draw();
  });
  for (const each of pickers) {
    each.querySelector("input").addEventListener("change", async (event) => {
      said.textContent = "";
      try {
        for (const file of event.target.files) await take(sheet, kind, file, purposeOf());
      } catch (error) {
        said.textContent = error instanceof StorageFull
          ? "This device has no room left: this file is NOT kept." : error.message;
      }
      event.target.value = "";
      await draw();
      sheet.changed(`/${kind}`);
    });
  }
  draw();
  return el("div", { class: "shelf" }, entries, said, el("p", { class: "about" }, words), listed);
}

async function take(sheet, kind, file, purpose) {
  if (file.size > sheet.description.files.largest) {
    throw new Error(`${file.name} is larger than the service takes (${Math.round(sheet.description.files.largest / 2 ** 20)} MiB).`);
  }
  await keepFile(sheet, kind, file, purpose);
}

// Read where it is removed: it may have been handed over since it was drawn.
const dropUnlessHanded = (id) => transact(["files"], "readwrite", (at) => {
  at.files.get(id).onsuccess = ({ target }) => { if (!target.result?.handed) at.files.delete(id); };
});

function row(sheet, file, draw) {
  const picture = file.blob?.type.startsWith("image/")
    ? el("img", { src: URL.createObjectURL(file.blob), alt: "", width: 72, height: 72,
      onload: ({ target }) => URL.revokeObjectURL(target.src) }) : null;
  const state = file.sent ? "sent" : file.handed ? "not sent yet" : "not handed over yet";
  const drop = !file.handed && button("Remove", async () => {
    await dropUnlessHanded(file.id);
    await draw();
  }, { "aria-label": `Remove ${file.name}` });
  return el("li", {}, picture, el("div", {}, el("strong", {}, file.purpose?.replaceAll("_", " ") ?? file.name),
    el("span", {}, file.name), el("span", { class: "quiet" }, `${Math.ceil((file.blob?.size ?? file.size) / 1000)} kB, ${state}`)), drop || null);
}
