"""A bundle: a ZIP that lists its members."""

import json
from pathlib import Path

from records.verifier.book import Book
from records.verifier.sharing import looked_at
from records.verifier.telling import MALFORMED, Told, Unusable, shown, why
from records.verifier.zip_places import found_otherwise
from records.verifier.zips import Member, Zip

_MOST_NAMES = 20  # members whose names are told


class Bundle(Zip):
    """A ZIP with `datapackage.json`, and what its members are to it and to each other."""

    def __init__(self, path: Path, told: Told) -> None:
        super().__init__(path)
        self.told, self.listed = told, self._listed()
        self.unsealed: list[str] = []  # what nothing but that list speaks for

    def _listed(self) -> dict[str, tuple[int, str]]:
        try:
            package = json.loads(self.read("datapackage.json"))
            self.every_record = package.get("every_record", True) is not False
            return {each["path"]: (each["bytes"], each["hash"]) for each in package["resources"]}
        except KeyError:
            words = "it has no datapackage.json that lists its members: cut short, or no bundle"
            raise Unusable(f"{self.name}: {words}") from None
        except MALFORMED as error:
            raise Unusable(f"{self.name}: datapackage.json: {why(error)}") from None

    def check(self, book: Book) -> None:
        """Every member against the list, each record, each PDF against its record."""
        found: dict[str, Member] = {}
        names = [name for name in self.members if name != "datapackage.json"]
        for each in looked_at(self, names, book.keys):
            if each.unusable:
                raise Unusable(each.unusable)
            if each.wrong:
                self.told.fail(f"{self.name}/{each.name}", each.wrong)
            else:
                found[each.name] = each
                self._take(each, book)
        if self.unsealed:
            first, more = ", ".join(self.unsealed[:_MOST_NAMES]), len(self.unsealed) - _MOST_NAMES
            words = first + (f" and {more} more" if more > 0 else "")
            self.told.leave(f"by any seal, but by the bundle's own list alone: {words}")
        with self.path.open("rb") as file:
            for name, words in found_otherwise(file, self.zip):
                self.told.fail(f"{self.name}/{name}".rstrip("/"), words)
        for name in self.listed.keys() - self.members.keys():
            self.told.fail(
                f"{self.name}/{name}",
                "datapackage.json lists it, and it is not there: cut short or taken out",
            )
        for name, each in found.items():
            mine = each.found.record if each.found and name.endswith(".pdf") else None
            beside = found.get(name[:-4] + ".json")
            if beside and mine and mine != beside.digest:
                self.told.fail(
                    f"{self.name}/{name}",
                    f"the record attached to it is another than {shown(name[:-4])}.json",
                )
            elif beside and mine:
                self.told.did("PDFs that hold the record beside them")

    def _take(self, each: Member, book: Book) -> None:
        where = f"{self.name}/{each.name}"
        if each.name not in self.listed:
            self.told.fail(where, "datapackage.json does not list it")
        elif self.listed[each.name] != (each.size, f"sha256:{each.digest}"):
            self.told.fail(where, "it has other bytes than datapackage.json says")
        else:
            self.told.did("members as the bundle's own list says")
        if each.name.startswith("files/"):
            book.files[each.digest] = where
            if each.name.split("/")[-1].split(".")[0] != each.digest:
                self.told.fail(where, f"it is not what was attached: its digest is {each.digest}")
        elif each.found:
            book.take(each.found, where, each.name.endswith(".pdf"), surely=True)
        elif each.name not in ("keys.json", "heads.json"):
            self.unsealed.append(shown(each.name))
