// What was taken along of a station, with what was read from plates on site.

import { pruned } from "./pointing.js";

export const PARTS = [["pump", "pumps", "Pump"], ["motor", "motors", "Motor"], ["drive", "drives", "Drive"]];

// The pack with what plates say in the place of what the register has.
export function withPlates(pack, plates = {}) {
  const told = (kind) => (piece) => {
    const plate = piece && plates[`${kind}/${piece.id}`];
    return plate ? pruned({ ...piece, ...plate.read }) : piece;
  };
  const joined = (set) => ({ ...set, ...Object.fromEntries(PARTS.map(([part, kind]) => [part, told(kind)(set[part])])) });
  return { ...pack, pump_sets: pack.pump_sets.map(joined),
    sensors: pack.sensors.map(told("sensors")), vessels: pack.vessels.map(told("vessels")) };
}

const ownTags = (set) => ["pump_set", "pump", "motor", "drive"].map((part) => set[part]?.tag);

// The pump set that a tag is of: its own, one of its machines, or the first that a transmitter serves.
export function setOf(pack, tag) {
  const sensor = pack.sensors.find((each) => each.tag === tag);
  return tag && (pack.pump_sets.find((set) => ownTags(set).includes(tag))
    ?? pack.pump_sets.find((set) => sensor && set.sensors.includes(sensor.id)));
}

// What a visit is of, also where its pump set was taken out of service meanwhile.
export const subjectOf = ({ pumpSet, tag }, pack) => (pumpSet
  ? pack?.pump_sets.find((set) => set.pump_set.id === pumpSet)?.pump_set.tag ?? tag ?? "Pump set" : "Transmitters");

export const tagsOf = (pack) => [
  ...pack.pump_sets.flatMap(ownTags),
  ...pack.sensors.map((each) => each.tag), ...pack.vessels.map((each) => each.tag),
].filter(Boolean);

// An explosive atmosphere can be there: a telephone has no place in the wet well.
export const isHazardous = (pack) => !["none", undefined, null].includes(pack.site.hazardous_area);
