"""The forms of a page as a browser sends them: hidden fields, what was typed, a button."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

from tests.records.pages.entrance.walking import Walker
from tests.records.pages.reading import Page


@dataclass
class Form:
    """One form: where it leads, what it holds, and its buttons by their words."""

    action: str
    fields: dict[str, list[str]] = field(default_factory=dict)
    buttons: dict[str, tuple[str, str]] = field(default_factory=dict)

    @property
    def path(self) -> str:
        """Its address without the place on the page."""
        return self.action.partition("#")[0]

    def send(self, browser: Walker, button: str = "", **typed: Any) -> Page:
        """Send it by a button, all at once."""
        given = {**self.fields, **typed}
        name, value = self.buttons[button] if button else ("", "")
        return browser.post(self.path, **given | ({name: value} if name else {}))


def forms(page: Page) -> list[Form]:
    """Every form of a page."""
    parser = _Forms()
    parser.feed(page.html)
    return parser.found


def form(page: Page, ending: str) -> Form:
    """The one form whose address ends so."""
    [found] = [each for each in forms(page) if each.path.endswith(ending)]
    return found


class _Forms(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[Form] = []
        self._form: Form | None = None
        self._in: tuple[str, dict[str, str | None]] | None = None
        self._said = ""
        self._select: str | None = None

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag == "form":
            self._form = Form(given.get("action") or "")
            self.found.append(self._form)
        elif tag == "input" and self._form:
            chosen = given.get("type") not in ("checkbox", "radio") or "checked" in given
            if chosen and given.get("name") != "csrfmiddlewaretoken":
                self._form.fields.setdefault(given["name"], []).append(given.get("value") or "")
        elif tag in ("textarea", "button"):
            self._in, self._said = (tag, given), ""
        elif tag == "select":
            self._select = given["name"]
        elif tag == "option" and self._form:
            self._choose(given)

    def _choose(self, given):
        """A browser sends what is selected, and the first where nothing is."""
        if "selected" in given or self._select not in self._form.fields:
            self._form.fields[self._select] = [given.get("value") or ""]

    def handle_data(self, data):
        self._said += data

    def handle_endtag(self, tag):
        if tag == "form":
            self._form = None
        if self._in is None or self._in[0] != tag or self._form is None:
            return
        _, given = self._in
        if tag == "textarea":
            # A browser drops the first line's end.
            self._form.fields[given["name"]] = [self._said.removeprefix("\n")]
        else:
            words = " ".join(self._said.split())
            self._form.buttons[words] = (given.get("name") or "", given.get("value") or "")
        self._in = None
