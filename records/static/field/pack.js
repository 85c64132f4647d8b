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

export const tagsOf = (pack) => [
  ...pack.pump_sets.flatMap((set) => ["pump_set", "pump", "motor", "drive"].map((part) => set[part]?.tag)),
  ...pack.sensors.map((each) => each.tag), ...pack.vessels.map((each) => each.tag),
].filter(Boolean);

// An explosive atmosphere can be there: a telephone has no place in the wet well.
export const isHazardous = (pack) => !["none", undefined, null].includes(pack.site.hazardous_area);
