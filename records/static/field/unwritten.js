// What was entered and is not on the disk, by visit: it outlives its screen, not the sheet.

const keptBack = new Map();
const failed = new Set();

// What enters each place that is still to be written, by its place.
export function unwrittenOf(visit) {
  if (!keptBack.has(visit)) keptBack.set(visit, new Map());
  return keptBack.get(visit);
}

const isUnwritten = () => [...keptBack.values()].some((each) => each.size > 0);

// Whether the last try to write a visit worked: what is only on its way is no trouble yet.
export const tried = (visit, worked) => (worked ? failed.delete(visit) : failed.add(visit));
export const isKeptBack = () => [...failed].some((visit) => unwrittenOf(visit).size > 0);

export const forgetUnwritten = () => keptBack.clear();

// Whoever closes the sheet is asked first.
addEventListener("beforeunload", (event) => { if (isUnwritten()) event.preventDefault(); });
