// Elements without a template language: text is always text.

export function el(tag, given = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(given)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (name === "class") made.className = value;
    else if (name in made && name !== "list" && typeof value !== "string") made[name] = value;
    else made.setAttribute(name, value);
  }
  made.append(...children.flat(9).filter((each) => each !== null && each !== undefined && each !== false));
  return made;
}

export const button = (words, onclick, given = {}) => el("button", { type: "button", onclick, ...given }, words);

let said = {};
export const learn = (words) => { said = words; };

// A word of a closed list as people say it.
export const word = (sent) => said[sent] ?? String(sent).replaceAll("_", " ");

// What a rule says, its units as they are printed, each on the line of its digits.
export const printed = (sentence, units) => {
  const names = Object.keys(units).filter((each) => each !== "1").sort((a, b) => b.length - a.length)
    .map((each) => each.replace(/[.*+?^${}()|[\]\\]/g, "\\$&"));
  return sentence.replace(new RegExp(`(\\d) (${names.join("|")})(?![\\w/.^*-]*\\w)`, "g"),
    (_, digit, unit) => `${digit}\u00a0${units[unit]}`);
};

export const shown = (value, units = {}) => {
  if (value === null || value === undefined) return "–";
  if (Array.isArray(value)) return value.map((each) => shown(each, units)).join(", ");
  if (typeof value === "boolean") return value ? "yes" : "no";
  if (typeof value !== "object") return word(value);
  const unit = units[value.unit] ?? value.unit;
  if ("unit" in value) return unit ? `${value.value}\u00a0${unit}` : String(value.value);
  return Object.values(value).map((each) => shown(each, units)).join(", ");
};

export const clock = (text) => {
  const at = new Date(text);
  return Number.isNaN(at.getTime()) ? "" : at.toLocaleString("en-GB", { dateStyle: "medium", timeStyle: "short" });
};

export const counted = (number, one, many = `${one}s`) => `${number} ${number === 1 ? one : many}`;

// A drawing that waits for what it draws: one at a time, so that an older one never lands over a
// newer one; asked for meanwhile, once more is enough.
export function inTurn(draw) {
  let running = Promise.resolve(), next = null;
  return () => (next ??= running.catch(() => {}).then(() => {
    next = null;
    running = draw();
    return running;
  }));
}

// To a screen, also to the one whose address stands there already.
export function goTo(address) {
  if (location.hash === address) dispatchEvent(new Event("hashchange"));
  else location.hash = address;
}
