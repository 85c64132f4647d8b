"""A page read back: its words, links, headings, labels, and what is not as it should be."""

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser
from itertools import pairwise

from django.test import Client

from tests.records.cast import Person
from tests.records.client import leave
from tests.records.sessions import sign_in

VOID = frozenset({"meta", "link", "input", "br", "wbr", "hr", "img"})


@dataclass
class Page:
    """What a browser was sent."""

    status: int
    headers: dict[str, str]
    html: str
    links: list[tuple[str, str]] = field(default_factory=list)  # where to, words
    headings: list[tuple[int, str]] = field(default_factory=list)
    ids: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    text: str = ""

    @property
    def words(self) -> str:
        """The text with single spaces."""
        return re.sub(r"\s+", " ", self.text).strip()

    def to(self, words: str) -> list[str]:
        """Where links with these words lead."""
        return [where for where, said in self.links if said == words]


def open_page(person: Person | None, path: str) -> Page:
    """Sign in and read one page."""
    leave()
    client = Client(raise_request_exception=False)
    if person is not None:
        sign_in(client, person)
    answer = client.get(path)
    html = answer.content.decode()
    return read(Page(answer.status_code, dict(answer.headers), html))


def read(page: Page) -> Page:
    """Take a page's HTML apart."""
    parser = _Parser(page)
    parser.feed(page.html)
    parser.close()
    page.text = "".join(parser.words)
    page.faults += [f"{name} is not closed" for name, *_ in parser.open]
    page.faults += [f"id {each} twice" for each in set(page.ids) if page.ids.count(each) > 1]
    page.faults += _unlabelled(parser) + _dead_ends(page) + _headings(page)
    return page


class _Parser(HTMLParser):
    def __init__(self, page: Page) -> None:
        super().__init__()
        self.page = page
        self.words: list[str] = []
        self.open: list[tuple[str, dict[str, str | None], int]] = []
        self.inputs: list[dict[str, str | None]] = []
        self.labels: set[str | None] = set()

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        self.page.faults += [f"{tag} has {name}" for name in given if name.startswith("on")]
        self.page.faults += [f"{tag} is styled in place"] if "style" in given else []
        if given.get("id"):
            self.page.ids.append(given["id"])
        if tag in ("input", "textarea", "select") and given.get("type") != "hidden":
            inside = any(name == "label" for name, *_ in self.open)
            self.inputs += [] if inside else [given]
        if tag == "label":
            self.labels.add(given.get("for"))
        if tag in ("td", "th", "dt", "dd", "br"):
            self.words.append(" ")
        if tag not in VOID:
            self.open.append((tag, given, len(self.words)))

    def handle_endtag(self, tag):
        if not self.open or self.open[-1][0] != tag:
            self.page.faults.append(f"{tag} closes {self.open[-1][0] if self.open else 'nothing'}")
            return
        _, given, start = self.open.pop()
        said = re.sub(r"\s+", " ", "".join(self.words[start:])).strip()
        if tag == "a":
            self.page.links.append((given.get("href") or "", said))
        if re.fullmatch("h[1-6]", tag):
            self.page.headings.append((int(tag[1]), said))
        named = given.get("aria-label")
        if tag in ("a", "button") and named and said.casefold() not in named.casefold():
            self.page.faults.append(f"{tag} shows {said!r} and is called {named!r}")  # WCAG 2.5.3
        if tag in ("a", "button", "th", "h1", "h2", "h3") and not said:
            self.page.faults.append(f"{tag} without words")

    def handle_data(self, data):
        self.words.append(data)


def _unlabelled(parser: _Parser) -> list[str]:
    return [f"input {each} without a label" for each in parser.inputs
            if each.get("id") not in parser.labels]  # fmt: skip


def _dead_ends(page: Page) -> list[str]:
    inner = [where[1:] for where, _ in page.links if where.startswith("#")]
    return [f"#{anchor} leads nowhere" for anchor in inner if anchor not in page.ids]


def _headings(page: Page) -> list[str]:
    levels = [level for level, _ in page.headings]
    faults = [] if levels.count(1) == 1 else [f"{levels.count(1)} headings of the first level"]
    return faults + [f"h{a} is followed by h{b}" for a, b in pairwise(levels) if b > a + 1]
