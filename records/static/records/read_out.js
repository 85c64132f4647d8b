// Reads values out of a chart where the pointer is: the nearest drawn point, in the axes' units.
// Without it every value stands in the table below the chart.
"use strict";

(() => {
  const NEAR = 18; // of the drawing's units

  const value = (axis, share) => {
    const at = axis.low + share * (axis.high - axis.low);
    return axis.scale === "log" ? 10 ** at : at;
  };

  // Days are told in seconds since 1970.
  const words = (axis, share) => {
    const known = value(axis, share);
    if (axis.scale === "days") {
      const day = new Date(known * 1000);
      return `${axis.title} ${day.toISOString().slice(0, 10)}`;
    }
    const range = axis.scale === "log" ? Math.abs(known) : Math.abs(axis.high - axis.low);
    const digits = Math.max(0, Math.min(6, 3 - Math.floor(Math.log10(range || 1)) - 1));
    return `${axis.title} ${known.toFixed(digits)} ${axis.unit}`.trim();
  };

  const points = (plot) => {
    const found = [];
    for (const line of plot.querySelectorAll("polyline:not([stroke-opacity])")) {
      for (const pair of line.getAttribute("points").trim().split(/\s+/)) {
        found.push(pair.split(",").map(Number));
      }
    }
    for (const mark of plot.querySelectorAll("circle[cx]")) {
      found.push([Number(mark.getAttribute("cx")), Number(mark.getAttribute("cy"))]);
    }
    return found;
  };

  const inside = (field, [x, y]) =>
    x >= field.left && x <= field.right && y >= field.top && y <= field.bottom;

  for (const plot of document.querySelectorAll("svg.plot[data-fields]")) {
    const fields = JSON.parse(plot.dataset.fields);
    const told = document.createElement("div");
    told.className = "read-out";
    told.setAttribute("aria-hidden", "true");
    plot.after(told);
    let known = null;
    plot.addEventListener("pointermove", (event) => {
      known = known || points(plot);
      const shown = plot.getBoundingClientRect();
      const scale = plot.viewBox.baseVal.width / shown.width;
      const at = [(event.clientX - shown.left) * scale, (event.clientY - shown.top) * scale];
      const field = fields.find((each) => inside(each, at));
      if (!field) {
        told.textContent = "";
        return;
      }
      let [best, least] = [at, NEAR];
      for (const point of known) {
        const far = Math.hypot(point[0] - at[0], point[1] - at[1]);
        if (far < least && inside(field, point)) {
          [best, least] = [point, far];
        }
      }
      const across = (best[0] - field.left) / (field.right - field.left);
      const up = (field.bottom - best[1]) / (field.bottom - field.top);
      told.textContent = `${words(field.x, across)}, ${words(field.y, up)}`;
      const left = Math.min(best[0] / scale + 10, shown.width - told.offsetWidth);
      told.style.left = `${Math.max(0, left)}px`;
      told.style.top = `${Math.max(0, best[1] / scale - told.offsetHeight - 8)}px`;
    });
    plot.addEventListener("pointerleave", () => {
      told.textContent = "";
    });
  }
})();
