"""Checks sealed records offline: that they are what was sealed, by whom, and that none is missing.

    python verify.py --keys KEYS FILE…

Needs Python 3.11 and the package `cryptography` (pip install cryptography); asks no network.
FILE is a record's JSON, its PDF (the JSON attached to it is checked, not what is printed), a file
that was attached to a record given with it, or a bundle (ZIP). A PDF that another program saved
anew may be refused; the data.json that is attached to it is a record's JSON.

--keys KEYS        the service's public keys, as /api/v1/keys answers: {"items": […]}. Keep them.
--fingerprint KID  trust this key alone, and those that it endorses, one after the other: as it is
                   printed on a record's PDF. May be given again.
--heads HEADS      what you kept from earlier: heads.json of a bundle, or a record's JSON. Shows
                   that nothing was dropped, put in another order, or written anew since.

Without --keys a bundle is checked with the keys in it; compare their fingerprint with paper.
Ends with 0 if everything given and asked for is right, 1 if a check fails, 2 if something cannot
be read.

A record is {"record":TEXT,"seal":SEAL}. TEXT is canonical JSON (RFC 8785); SEAL has its SHA-256 in
`digest`, a detached JWS over its bytes in `signature` (RFC 7797, Ed25519), and the `key` by its
thumbprint (RFC 7638) with the `public_key` (JWK). A person's signature with the meaning
`performed` has the digest of the canonical {"attachments", "catalogue", "document" (`event`),
"findings", "limits_changed", "snapshot", "traces"}; others that of {"answers", "performed"} with
`id`, `finding`, `text`, `accepted`, `by` of each answer. One that was given on a device has
`device`: a `statement` of what was shown, whose canonical text the device's key (`public_key`,
Ed25519 or P-256) signed like a seal; `document`, `nameplates` (`snapshot` without the neighbours'
`settings` and `duty_points`) and `limits_changed` are SHA-256 of the canonical text of each, and
whatever of the `findings` it does not name has an answer. A key is endorsed by a detached JWS of
the one before over the canonical {"endorsed_by", "public_key", "valid_from"}.

A bundle is a ZIP with at its root
- datapackage.json: {"resources": [{"path", "bytes", "hash": "sha256:HEX"}…]}, every member but
  itself. "every_record": false says that numbers are left out on purpose, else every number
  from 1 to that in heads.json is in it;
- keys.json: as /api/v1/keys; heads.json: {"heads": [{"site", "number", "digest"}…]}, the last
  record of each of the client's sites;
- records/…/NAME.json with its NAME.pdf beside it, at any depth; files/SHA256…, what was attached,
  named by its digest. Anything else, and files that no record names, are held against
  datapackage.json alone, which nothing seals: they are told as not checked.
"""

import argparse
import gc
import hashlib
import io
import sys
from pathlib import Path
from typing import IO

from records.verifier.book import Book, Head, read_heads
from records.verifier.bundles import Bundle
from records.verifier.keys import Keys
from records.verifier.looking import look
from records.verifier.telling import BEGIN, MOST, MOST_PDF, PIECE, Told, Unusable


def check_file(path: Path, book: Book) -> None:
    """A record's JSON or PDF, or what was attached to one, outside of a bundle."""
    with _opened(path) as file:
        size, counted = path.stat().st_size, hashlib.sha256()
        is_pdf = path.suffix.lower() == ".pdf" or b"%PDF-" in file.read(1024)
        file.seek(0)
        is_record = is_pdf or path.suffix.lower() == ".json" or file.read(len(BEGIN)) == BEGIN
        file.seek(0)
        if is_record and size <= (MOST_PDF if is_pdf else MOST):
            found = look(file.read(), str(path), is_pdf, book.keys, book.checked)
            book.take(found, str(path), is_pdf, surely=False)
            return
        for piece in iter(lambda: file.read(PIECE), b""):
            counted.update(piece)
    words = "it is no record, and was attached to none of those given"
    book.others.append((str(path), counted.hexdigest(), [words]))


def _opened(path: Path) -> IO[bytes]:
    try:
        if not path.is_file():
            raise Unusable(f"{path} is no file")
        return path.open("rb")
    except OSError as error:
        raise Unusable(f"{path}: {error.strerror}") from None


def _read(path: Path) -> bytes:
    with _opened(path) as file:
        if path.stat().st_size > MOST:
            raise Unusable(f"{path} has more than {MOST} bytes")
        return file.read()


def _is_bundle(path: Path) -> bool:
    with _opened(path) as file:
        return path.suffix.lower() == ".zip" or file.read(4) == b"PK\3\4"


def check(options: argparse.Namespace, told: Told) -> None:
    """Read keys and heads first, then everything."""
    keys = Keys(told)
    given = keys.take(_read(options.keys), str(options.keys)) if options.keys else []
    kept = read_heads(_read(options.heads), str(options.heads)) if options.heads else []
    bundles, others = _sorted(options.files, told)
    if not bundles and not others:
        return  # why none of them can be read is told
    current: dict[str, Head] | None = None
    for bundle in bundles:
        if "keys.json" in bundle.members:
            keys.take(bundle.read("keys.json"), f"{bundle.name}/keys.json")
        if "heads.json" in bundle.members:
            heads = read_heads(bundle.read("heads.json"), f"{bundle.name}/heads.json")
            current = (current or {}) | {head.site: head for head in heads}
    keys.trust(options.fingerprint or given or _compared(keys, told))
    book = Book(told, keys)
    for bundle in bundles:
        bundle.check(book)
    for path in others:
        try:
            check_file(path, book)
        except Unusable as error:
            told.refuse(path.name, str(error))
    whole = bool(bundles) and all(bundle.every_record for bundle in bundles)
    book.end(current, kept, whole)
    if not (book.sites or told.failed or told.unusable):
        raise Unusable("there is no record in what was given")


def _sorted(files: list[Path], told: Told) -> tuple[list[Bundle], list[Path]]:
    bundles, others = list[Bundle](), list[Path]()
    for path in files:
        try:
            if _is_bundle(path):
                bundles.append(Bundle(path, told))
            else:
                others.append(path)
        except Unusable as error:
            told.refuse(path.name, str(error))
    return bundles, others


def _compared(keys: Keys, told: Told) -> list[str]:
    """The keys of a bundle, where nothing else is known: people have to compare them."""
    if not keys.given:
        raise Unusable("there are no keys: give --keys, or --fingerprint as it is printed on paper")
    roots = [str(each["kid"]) for each in keys.given if each["endorsed_by"] is None]
    told.leave("whether the keys in the bundle are the service's own")
    told.notes += [f"Compare with paper, or with keys that you kept: {kid}" for kid in roots]
    return roots


def main(words: list[str] | None = None) -> int:
    """Check what the command line names; the exit status."""
    about = argparse.RawDescriptionHelpFormatter
    parser = argparse.ArgumentParser("verify.py", description=__doc__, formatter_class=about)
    parser.add_argument("files", nargs="+", type=Path, metavar="FILE")
    parser.add_argument("--keys", type=Path)
    parser.add_argument("--fingerprint", action="append", default=[])
    parser.add_argument("--heads", type=Path)
    given = list(sys.argv[1:] if words is None else words)
    for at in range(len(given) - 2, -1, -1):
        if given[at] == "--fingerprint":  # it may begin with a hyphen
            given[at : at + 2] = [f"--fingerprint={given[at + 1]}"]
    options, told = parser.parse_args(given), Told()
    if isinstance(sys.stdout, io.TextIOWrapper):  # a name that it cannot write ends nothing
        sys.stdout.reconfigure(errors="backslashreplace")
    try:
        check(options, told)
    except Unusable as error:
        told.refuse("given", str(error))
    return told.end()


if __name__ == "__main__":
    gc.set_threshold(100_000)  # documents have no circles, and are gone with their record
    sys.exit(main())
