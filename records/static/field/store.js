// What the device keeps, in IndexedDB. Every write is on the disk before it counts as done.

const NAME = "stationbook-field";
const VERSION = 1;
const STORES = { kept: "name", packs: "site", visits: "id", files: "id", queue: "seq" };

let opened = null;

export class StorageFull extends Error {}

function open() {
  opened ??= new Promise((done, failed) => {
    const asked = indexedDB.open(NAME, VERSION);
    asked.onupgradeneeded = () => {
      for (const [name, keyPath] of Object.entries(STORES)) {
        asked.result.createObjectStore(name, { keyPath, autoIncrement: name === "queue" });
      }
    };
    asked.onsuccess = () => {
      asked.result.onversionchange = () => { asked.result.close(); opened = null; };
      asked.result.onclose = () => { opened = null; };
      done(asked.result);
    };
    asked.onerror = () => { opened = null; failed(asked.error); }; // the next one tries again
  });
  return opened;
}

// One transaction over some stores: `work` gets them by name and returns a request, or nothing.
export async function transact(names, mode, work) {
  const database = await open();
  return new Promise((done, failed) => {
    const transaction = database.transaction(names, mode, { durability: "strict" });
    let answer;
    transaction.oncomplete = () => done(answer?.result);
    transaction.onabort = () => failed(told(transaction.error));
    try {
      answer = work(Object.fromEntries(names.map((name) => [name, transaction.objectStore(name)])));
    } catch (error) {
      transaction.abort(); // all of it or nothing
      failed(error);
    }
  });
}

function told(error) {
  const full = error?.name === "QuotaExceededError";
  return full ? new StorageFull("this device has no room left") : error;
}

export const get = (store, key) => transact([store], "readonly", (at) => at[store].get(key));
export const all = (store) => transact([store], "readonly", (at) => at[store].getAll());
export const put = (store, row) => transact([store], "readwrite", (at) => at[store].put(row));
export const remove = (store, key) =>
  transact([store], "readwrite", (at) => { at[store].delete(key); });

export const keep = (name, value) => put("kept", { name, value });
export const keepAll = (values) => transact(["kept"], "readwrite", (at) => {
  for (const [name, value] of Object.entries(values)) at.kept.put({ name, value });
});
export const kept = async (name, otherwise = null) => (await get("kept", name))?.value ?? otherwise;

// Nothing of anybody stays on the device.
export const wipe = () =>
  transact(Object.keys(STORES), "readwrite", (at) => {
    for (const store of Object.values(at)) store.clear();
  });

// What is worth noting but stands in nobody's way: a full device goes on without it.
export async function noted(writing) {
  try {
    await writing;
  } catch (error) {
    if (!(error instanceof StorageFull)) throw error;
  }
}

// Changes a row as it stands in the store, so that two writers of it lose nothing.
export async function change(store, key, how) {
  let changed;
  await transact([store], "readwrite", (at) => {
    const asked = at[store].get(key);
    asked.onsuccess = () => {
      if (asked.result === undefined) return;
      changed = how(asked.result) ?? asked.result;
      at[store].put(changed);
    };
  });
  return changed;
}
