"""What is looked for on every page: what axe knows, what does not fit, what lies over another."""

from axe_playwright_python.sync_playwright import Axe

# What sticks out of the page, but for what moves sideways by itself.
TOO_WIDE = """() => {
  const wide = document.documentElement.scrollWidth > innerWidth + 1;
  if (!wide) return [];
  return [...document.querySelectorAll("body *")]
    .filter((each) => each.getBoundingClientRect().right > innerWidth + 1
                      && !each.parentElement.closest(".scroll"))
    .map((each) => each.outerHTML.slice(0, 120)).slice(0, 5);
}"""
# Lines of text of different parts that lie over each other.
OVERLAPPING = """() => {
  const found = [];
  const boxes = [...document.querySelectorAll("h1,h2,h3,p,label,button,input,select,td,th,dt,dd")]
    .filter((each) => each.checkVisibility() && each.innerText !== "")
    .map((each) => [each, each.getBoundingClientRect()])
    .filter(([, box]) => box.width > 1 && box.left > -1000);
  for (const [index, [one, a]] of boxes.entries()) {
    for (const [other, b] of boxes.slice(index + 1, index + 40)) {
      const across = Math.min(a.right, b.right) - Math.max(a.left, b.left);
      const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
      if (across > 2 && down > 2 && !one.contains(other) && !other.contains(one)) {
        found.push(one.outerHTML.slice(0, 80) + " | " + other.outerHTML.slice(0, 80));
      }
    }
  }
  return found.slice(0, 5);
}"""


def faults(page):
    """What axe finds, as rule and place."""
    results = Axe().run(page).response["violations"]
    return [
        (each["id"], node["target"], node["failureSummary"][:200])
        for each in results for node in each["nodes"]
    ]  # fmt: skip


def look(page):
    """See that a page is for everybody and fits, light and dark, on a telephone as well."""
    size = page.viewport_size
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        assert faults(page) == []
    page.set_viewport_size({"width": 360, "height": 740})
    assert faults(page) == []
    assert page.evaluate(TOO_WIDE) == []
    assert page.evaluate(OVERLAPPING) == []
    page.set_viewport_size(size)
