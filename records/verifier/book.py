"""Many records: numbers, links, heads, files."""

import json
from typing import NamedTuple

from records.verifier.keys import Keys
from records.verifier.looking import Checked, Found
from records.verifier.sealed import Sealed
from records.verifier.telling import BEGIN, MALFORMED, Told, Unusable, shown, why


class Head(NamedTuple):
    """The last record of a site, as somebody kept it."""

    site: str
    number: int
    digest: str


def read_heads(content: bytes, where: str) -> list[Head]:
    """Heads of a bundle, or the one that a record's JSON is."""
    try:
        document = json.loads(content)
        if content.startswith(BEGIN):
            record = document["record"]
            digest_ = document["seal"]["digest"]
            heads = [Head(record["event"]["site"], record["number"], digest_)]
        else:
            listed = document["heads"]
            heads = [Head(each["site"], each["number"], each["digest"]) for each in listed]
        for each in heads:
            if not (isinstance(each.site, str) and isinstance(each.number, int)):
                raise ValueError("a head has a station's id as text and a whole number")
        return heads
    except MALFORMED as error:
        raise Unusable(f"{where} is no list of heads: {why(error)}") from None


class Book:
    """All records that were given, and what they say of each other."""

    def __init__(self, told: Told, keys: Keys) -> None:
        self.told, self.keys = told, keys
        self.sites: dict[str, dict[int, Sealed]] = {}
        self.seen: set[str] = set()
        self.signers: dict[str, str] = {}  # person by key of a device
        self.checked: Checked = {}
        self.files: dict[str, str] = {}
        self.others: list[tuple[str, str, list[str]]] = []  # name, digest, what is wrong

    def take(self, found: Found, where: str, is_pdf: bool, surely: bool) -> None:
        """Tell of a record, once however often it is given, and of the PDF that it is attached to.

        Unless it is `surely` meant as a record, it may be a file that was attached to one.
        """
        if found.record is None:
            self._refuse(where, found.digest, found.wrong, surely)
            return
        if found.record not in self.seen:
            self.seen.add(found.record)
            self._take_record(found, found.record, where, surely or is_pdf)
        if is_pdf:
            self.told.leave("what is printed in PDFs: their record counts")

    def _take_record(self, found: Found, mine: str, where: str, surely: bool) -> None:
        sealed = found.sealed
        if sealed is None:
            self._refuse(where, mine, found.wrong, surely)
            return
        self.told.did("records: canonical text, digest, seal, key and its time, what people signed")
        for kid, person in sealed.signers:
            self.told.did("signatures by a key of a device, over what it showed")
            if self.signers.setdefault(kid, person) != person:
                words = f"the device's key {shown(kid)} signed for another person elsewhere"
                self.told.fail(where, words)
        of_site = self.sites.setdefault(sealed.site, {})
        other = of_site.setdefault(sealed.number, sealed)
        if other.digest != sealed.digest:
            self.told.fail(where, f"{_number(sealed)} is another record than {shown(other.where)}")

    def _refuse(self, where: str, mine: str, wrong: list[str], surely: bool) -> None:
        if surely:
            self.told.fail(where, *wrong)
        else:
            self.others.append((where, mine, wrong))

    def end(self, current: dict[str, Head] | None, kept: list[Head], whole: bool) -> None:
        """Check what records say of each other, and against heads: a bundle's own, and kept ones.

        Numbers may be missing between others, unless there is a kept head; from a `whole` bundle
        none may, from the first to its own head.
        """
        self._files()
        for of_site in self.sites.values():
            self._links(of_site, whole, bool(kept))
        for head in (current or {}).values():
            self._current(head, self.sites.get(head.site, {}), whole)
        for site in self.sites if current is not None else ():
            if site not in (current or {}):
                self.told.fail("heads.json", f"it says nothing of station {shown(site)}")
        for head in kept:
            self._kept(head, self.sites.get(head.site, {}), current)

    def _files(self) -> None:
        records = [sealed for of_site in self.sites.values() for sealed in of_site.values()]
        wanted = {digest: name for sealed in records for digest, name in sealed.files}
        for where, mine, wrong in self.others:
            if mine in wanted:
                self.files[mine] = where
            else:
                self.told.fail(where, *wrong)
        for mine in self.files:
            if mine in wanted:
                self.told.did("files that were attached to records")
            else:
                self.told.leave("files that no record names, but by the bundle's own list alone")
        for mine in wanted:
            if mine not in self.files:
                self.told.leave("files that were attached to records and are not given")

    def _links(self, of_site: dict[int, Sealed], whole: bool, unbroken: bool) -> None:
        by_id = {sealed.identity: sealed for sealed in of_site.values()}
        numbers = sorted(of_site)
        for before, number in zip([0, *numbers], numbers, strict=False):
            sealed = of_site[number]
            if before and before + 1 == number:
                if sealed.previous != of_site[before].digest:
                    self.told.fail(
                        sealed.where,
                        f"{_number(sealed)} does not follow the record"
                        f" {shown(of_site[before].where)}: one was replaced",
                    )
                else:
                    self.told.did("links to the record before")
            elif number > 1 and (whole or (unbroken and before)):
                missing = f"missing or damaged: {before + 1} to {number - 1}"
                self.told.fail(sealed.where, f"numbers before {_number(sealed)} are {missing}")
            elif number > 1:
                self.told.leave("links to a record before that is not given")
            if sealed.corrects:
                old = by_id.get(sealed.corrects)
                where = shown(old.where) if old else f"record {shown(sealed.corrects)}"
                self.told.notes.append(f"Note: {shown(sealed.where)} replaces {where}")

    def _current(self, head: Head, of_site: dict[int, Sealed], whole: bool) -> None:
        """What the bundle itself says is the last record of a site."""
        last = max(of_site, default=0)
        if head.number < last:
            self.told.fail(
                "heads.json", f"it ends at {head.number}, and {_number(of_site[last])} is there"
            )
        elif head.number in of_site and of_site[head.number].digest != head.digest:
            self.told.fail("heads.json", f"{_number(of_site[head.number])} has another digest")
        elif head.number > last and whole:
            missing = f"records {last + 1} to {head.number} are missing or damaged"
            self.told.fail("heads.json", f"of station {shown(head.site)} {missing}")

    def _kept(
        self, head: Head, of_site: dict[int, Sealed], current: dict[str, Head] | None
    ) -> None:
        """Nothing that the client has seen may be gone, or be another now."""
        where, number = f"station {head.site}", head.number
        claimed = (current or {}).get(head.site)
        if number in of_site:
            same = of_site[number].digest == head.digest
        elif number + 1 in of_site:
            same = of_site[number + 1].previous == head.digest
        elif claimed and claimed.number == number:
            same = claimed.digest == head.digest
        elif not of_site and current is None:
            self.told.leave("heads of stations of which nothing is given")
            return
        else:
            there = max([*of_site, claimed.number if claimed else 0])
            words = (
                f"what there is ends at {there}: the rest was dropped"
                if there < number
                else "nothing that is given leads to it"
            )
            self.told.fail(where, f"you kept record {number} as the last one; {words}")
            return
        if same:
            self.told.did("heads that were kept from earlier")
        else:
            self.told.fail(
                where,
                f"record {number} is another one than you kept: its history was"
                " written anew, put in another order, or forked",
            )


def _number(sealed: Sealed) -> str:
    return f"record {sealed.number} of station {shown(sealed.site)}"
