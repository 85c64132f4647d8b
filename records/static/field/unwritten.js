// What was entered and is not on the disk, by visit: it outlives its screen, not the sheet.

const kept_back = new Map();

// What enters each place that is still to be written, by its place.
export function unwrittenOf(visit) {
  if (!kept_back.has(visit)) kept_back.set(visit, new Map());
  return kept_back.get(visit);
}

export const isUnwritten = () => [...kept_back.values()].some((each) => each.size > 0);

export const forgetUnwritten = () => kept_back.clear();

// Whoever closes the sheet is asked first.
addEventListener("beforeunload", (event) => { if (isUnwritten()) event.preventDefault(); });
