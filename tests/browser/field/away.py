"""A telephone in the pump house: what it hands over, and what of it is in the book."""

from tests.records.client import Api

HAND = """async ([template, number, photographs]) => {
  const { put } = await import("/static/field/store.js");
  const { hand } = await import("/static/field/queue.js");
  const ids = [];
  for (let at = 0; at < number; at++) {
    const id = crypto.randomUUID();
    const document = { ...template, id, remarks: `entry ${at}` };
    const visit = { id, site: template.site, pumpSet: template.pump_set, document, sent: null,
      told: null, changed: new Date().toISOString() };
    await put("visits", visit);
    if (photographs) {
      const bytes = Uint8Array.from(atob(photographs), (sign) => sign.charCodeAt(0));
      const blob = new Blob([bytes], { type: "image/png" });
      const hash = await crypto.subtle.digest("SHA-256", bytes);
      const sha256 = [...new Uint8Array(hash)].map((b) => b.toString(16).padStart(2, "0")).join("");
      await put("files", { id: crypto.randomUUID(), visit: id, kind: "file", sha256, blob, at: "",
        name: `plate ${at}.png`, purpose: "motor_plate", handed: false, sent: false });
    }
    ids.push(id);
    await hand(visit, document);
  }
  return ids;
}"""
AGAIN = """async ([id, changes]) => {
  const { change } = await import("/static/field/store.js");
  const { hand } = await import("/static/field/queue.js");
  const row = await change("visits", id, (held) => (
    { ...held, document: { ...held.document, ...changes } }));
  await hand(row, row.document);
}"""
FULL = """() => {
  const own = { put: IDBObjectStore.prototype.put, add: IDBObjectStore.prototype.add };
  for (const [name, write] of Object.entries(own)) {
    IDBObjectStore.prototype[name] = function full(...given) {
      const asked = write.apply(this, given);
      const value = new DOMException("no room", "QuotaExceededError");
      Object.defineProperty(this.transaction, "error", { value });
      this.transaction.abort();
      return asked;
    };
  }
  globalThis.emptied = () => Object.assign(IDBObjectStore.prototype, own);
}"""
IMPORT = """async (text) =>
  (await import("/static/field/saved.js")).imported(new Blob([text]))"""


def entry(station):
    """The least that a visit says."""
    return {"kind": "investigation", "site": station.site, "pump_set": station.pump_set,
            "performed_at": "2026-03-14T09:30:00-05:00"}  # fmt: skip


def at_the_service(cast, path):
    return Api(cast.teo).get(path)


def station_name(cast, station):
    return at_the_service(cast, f"/sites/{station.site}").json["name"]


def everything(cast, station):
    found, path = [], f"/events?site={station.site}&limit=200"
    while path:
        page = at_the_service(cast, path).json
        found += [each["id"] for each in page["items"]]
        path = page["next"] and page["next"].split("/api/v1", 1)[1]
    return found
