"""Download of a bundle of many records, beside copying the same files, measured in turn.

    python -m tests.benchmarks.bundle --records 2000

One record is sealed and rendered as always; the others are rows and files made from it. A client
of the standard library loads the bundle by HTTP over the loopback and writes it to a file. Beside
that, on the same disk, with everything warm in memory:

- documents: the PDFs are copied, each to a file (`shutil.copyfile`: the kernel copies from memory
  to memory, and no program reads them). The hardest measure: the bundle has the records' JSON and
  readings besides, out of the database, and a third and fourth copy through the socket;
- all: whatever the bundle has is copied from files in the same way;
- all, durable: until the disk has it. That is what somebody who keeps a bundle waits for, and the
  download is then counted until the disk has it, too. One `syncfs` ends either; one goes before.
"""

import argparse
import ctypes
import hashlib
import os
import shutil
import statistics
import time
import zipfile
import zlib
from collections.abc import Sequence
from contextlib import closing
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

import psycopg

from deploy.roles import DATABASE
from records.services.files import stored_name
from tests.benchmarks import copies, report, servers
from tests.benchmarks.clients import PATIENCE
from tests.benchmarks.servers import Book, RemoteApi, bearer
from tests.records import visits
from tests.records.documents import sample

DOCUMENTS_LIKE_IT = """
INSERT INTO records_recorddocument SELECT (jsonb_populate_record(first, jsonb_build_object(
  'id', gen_random_uuid(), 'record_id', record.row, 'sha256', %s::bytea, 'size', %s,
  'crc32', %s, 'made_at', now()))).*
FROM records_recorddocument AS first, records_record AS record
WHERE first.sha256 IS NULL AND record.number = %s
"""
PIECE = 1 << 20
SECONDS = ("download_s", "first_byte_s", "download_durable_s", "documents_s", "all_s",
           "all_durable_s")  # fmt: skip
BESIDE = {
    "documents": ("download_s", "documents_s"),
    "all": ("download_s", "all_s"),
    "all_durable": ("download_durable_s", "all_durable_s"),
}


def arguments(words: Sequence[str] | None = None) -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.bundle")
    parser.add_argument("--records", type=int, default=2000)
    parser.add_argument("--rounds", type=int, default=5, help="of each, in turn")
    parser.add_argument("--json", type=Path, default=servers.DATA / "bundle.json")
    return parser.parse_args(words)


def main(words: Sequence[str] | None = None) -> None:
    """Measure, print, write the file."""
    options = arguments(words)
    with servers.postgres() as running, servers.service(running, 1) as book:
        folder = running.data.parent
        files = fill(running.dsn(database=DATABASE), book, folder / "files", options.records)
        before = servers.most_memory()
        members = unpacked(book, folder)
        rounds = [measure(book, files, members, folder) for _ in range(options.rounds)]
        told = {
            "conditions": report.conditions(running.dsn()),
            "records": options.records,
            "bytes": rounds[0]["bytes"],
            **{name: statistics.median(each[name] for each in rounds) for name in SECONDS},
            **{f"beside_{name}": _beside(rounds, *pair) for name, pair in BESIDE.items()},
            "memory_mb": servers.most_memory(),
            "memory_before_mb": before,
            "rounds": rounds,
        }
    print(in_words(told))
    report.write(options.json, told)


def _beside(rounds: Sequence[dict[str, Any]], ours: str, bare: str) -> float:
    return statistics.median(each[ours] / each[bare] for each in rounds)


def in_words(told: dict[str, Any]) -> str:
    """The report that is printed."""
    return (
        f"{told['records']} records, {told['bytes'] / 1e6:.0f} MB, first byte after"
        f" {told['first_byte_s']:.3f} s; downloaded in {told['download_s']:.2f} s, and on the disk"
        f" after {told['download_durable_s']:.2f} s\n"
        f"documents copied in {told['documents_s']:.2f} s: ratio {told['beside_documents']:.2f}\n"
        f"all copied in {told['all_s']:.2f} s: ratio {told['beside_all']:.2f}\n"
        f"all copied, durable, in {told['all_durable_s']:.2f} s: ratio"
        f" {told['beside_all_durable']:.2f}\n"
        f"a web process had {told['memory_mb']:.0f} MB at most ({told['memory_before_mb']:.0f} MB"
        " before)"
    )


def fill(dsn: str, book: Book, root: Path, count: int) -> list[Path]:
    """Seal one record, and make the others and all documents like it; answers with the files."""
    teo, orla = (RemoteApi(book.address, each) for each in (book.cast.teo, book.cast.orla))
    visits.sealed(teo, orla, book.stations[0][0])
    files = _documents(root, count)
    with psycopg.connect(dsn) as admin:
        copies.like_the_first(admin, count - 1)
        admin.execute("ALTER TABLE records_recorddocument DROP CONSTRAINT one_document_a_kind")
        for number, file in enumerate(files, 1):
            content = file.read_bytes()
            told = [bytes.fromhex(file.name), len(content), zlib.crc32(content), number]
            admin.execute(DOCUMENTS_LIKE_IT, told)
        admin.execute("DELETE FROM records_recorddocument WHERE sha256 IS NULL")
    return files


def _documents(root: Path, count: int) -> list[Path]:
    """Files as large as a record's PDF, each another one."""
    record = sample.record()
    pdf = sample.printed(record)
    files = []
    for number in range(count):
        content = pdf + str(number).encode()
        file = root / stored_name(hashlib.sha256(content).digest())
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content)
        files.append(file)
    return files


def unpacked(book: Book, folder: Path) -> list[Path]:
    """What a bundle has, as files."""
    bundle, place = folder / "bundle.zip", folder / "members"
    _download(book, bundle)
    with zipfile.ZipFile(bundle) as archive:
        archive.extractall(place)
    bundle.unlink()
    return [file for file in place.rglob("*") if file.is_file()]


def measure(
    book: Book, files: Sequence[Path], members: Sequence[Path], folder: Path
) -> dict[str, Any]:
    """One copy of the documents, one of all that a bundle has, and one download."""
    documents, _ = _copied(files, folder / "copies")
    copied, durable = _copied(members, folder / "copies")
    bundle = folder / "bundle.zip"
    synchronize(folder)
    begun = time.perf_counter()
    loaded = _download(book, bundle)
    synchronize(folder)
    whole = time.perf_counter() - begun
    with zipfile.ZipFile(bundle) as archive:
        if archive.namelist()[-1] != "datapackage.json":
            raise RuntimeError("the bundle was cut short")
    bundle.unlink()
    return {"documents_s": documents, "all_s": copied, "all_durable_s": durable,
            "download_durable_s": whole, **loaded}  # fmt: skip


def _copied(files: Sequence[Path], place: Path) -> tuple[float, float]:
    """Seconds until they are copied, and until the disk has them."""
    place.mkdir()
    synchronize(place)
    begun = time.perf_counter()
    for number, file in enumerate(files):
        shutil.copyfile(file, place / str(number))
    copied = time.perf_counter() - begun
    synchronize(place)
    durable = time.perf_counter() - begun
    shutil.rmtree(place)
    return copied, durable


def synchronize(folder: Path) -> None:
    """Wait until the disk has whatever was written to its file system (`syncfs` of Linux)."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        if ctypes.CDLL(None, use_errno=True).syncfs(handle):
            raise OSError(ctypes.get_errno(), "syncfs")
    finally:
        os.close(handle)


def _download(book: Book, target: Path) -> dict[str, Any]:
    begun, size = time.perf_counter(), 0
    with closing(HTTPConnection(book.address, timeout=PATIENCE)) as connection:
        path = f"/api/v1/records/bundle?client={book.cast.client}"
        connection.request("GET", path, headers=bearer(book.cast.orla))
        answer = connection.getresponse()
        if answer.status != 200:
            raise RuntimeError(f"{answer.status} {answer.read()!r}")
        first = time.perf_counter() - begun
        with target.open("wb") as file:
            while piece := answer.read(PIECE):
                size += file.write(piece)
    took = time.perf_counter() - begun
    return {"download_s": took, "first_byte_s": first, "bytes": size}


if __name__ == "__main__":
    main()
