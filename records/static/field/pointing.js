// Places in a document as JSON Pointers (RFC 6901), and documents without empty ends.

export const join = (at, step) => `${at}/${String(step).replaceAll("~", "~0").replaceAll("/", "~1")}`;

const steps = (pointer) =>
  pointer.split("/").slice(1).map((step) => step.replaceAll("~1", "/").replaceAll("~0", "~"));

export const read = (document, pointer) =>
  steps(pointer).reduce((held, step) => held?.[step], document);

export function write(document, pointer, value) {
  const path = steps(pointer);
  const last = path.pop();
  let held = document;
  path.forEach((step, index) => {
    const following = index + 1 < path.length ? path[index + 1] : last;
    held[step] ??= /^\d+$/.test(following) ? [] : {};
    held = held[step];
  });
  if (value === undefined && !Array.isArray(held)) delete held[last];
  else held[last] = value ?? null;
}

// The document without fields that are empty; elements of lists keep their places.
export function pruned(value) {
  if (Array.isArray(value)) {
    const list = value.map((each) => pruned(each) ?? null);
    while (list.length && list.at(-1) === null) list.pop();
    return list.length ? list : undefined;
  }
  if (value === null || value === "" || value === undefined) return undefined;
  if (typeof value !== "object") return value;
  const found = Object.entries(value).map(([name, each]) => [name, pruned(each)]);
  const full = found.filter(([, each]) => each !== undefined);
  return full.length ? Object.fromEntries(full) : undefined;
}

export const same = (one, other) => JSON.stringify(sorted(one)) === JSON.stringify(sorted(other));

function sorted(value) {
  if (Array.isArray(value)) return value.map(sorted);
  if (value === null || typeof value !== "object") return value;
  return Object.fromEntries(Object.keys(value).sort().map((name) => [name, sorted(value[name])]));
}

// What a merge patch (RFC 7396) needs to make `now` of `before`.
export function difference(before, now) {
  const patch = {};
  for (const name of Object.keys(before)) if (!(name in now)) patch[name] = null;
  for (const [name, value] of Object.entries(now)) {
    if (same(before[name], value)) continue;
    const inside = isObject(before[name]) && isObject(value) && !("unit" in value);
    patch[name] = inside ? difference(before[name], value) : value;
  }
  return patch;
}

const isObject = (value) => value !== null && typeof value === "object" && !Array.isArray(value);
