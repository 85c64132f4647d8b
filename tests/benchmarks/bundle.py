"""Download of a bundle of many records, beside copying the same files, measured in turn.

    python -m tests.benchmarks.bundle --records 2000

One record is sealed and rendered as always; the others are rows and files made from it.
"""

import argparse
import hashlib
import shutil
import statistics
import time
import zipfile
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
  'made_at', now()))).*
FROM records_recorddocument AS first, records_record AS record
WHERE first.sha256 IS NULL AND record.number = %s
"""
PIECE = 1 << 20


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
        rounds = [measure(book, files, folder) for _ in range(options.rounds)]
        told = {
            "conditions": report.conditions(running.dsn()),
            "records": options.records,
            "bytes": rounds[0]["bytes"],
            "download_s": statistics.median(each["download_s"] for each in rounds),
            "first_byte_s": statistics.median(each["first_byte_s"] for each in rounds),
            "copy_s": statistics.median(each["copy_s"] for each in rounds),
            "ratio": statistics.median(each["download_s"] / each["copy_s"] for each in rounds),
            "memory_mb": servers.most_memory(),
            "memory_before_mb": before,
            "rounds": rounds,
        }
    print(
        f"{told['records']} records, {told['bytes'] / 1e6:.0f} MB: {told['download_s']:.2f} s, "
        f"first byte after {told['first_byte_s']:.3f} s; copied in {told['copy_s']:.2f} s; "
        f"ratio {told['ratio']:.2f}; a web process had {told['memory_mb']:.0f} MB at most "
        f"({before:.0f} MB before)"
    )
    report.write(options.json, told)


def fill(dsn: str, book: Book, root: Path, count: int) -> list[Path]:
    """Seal one record, and make the others and all documents like it; answers with the files."""
    teo, orla = (RemoteApi(book.address, each) for each in (book.cast.teo, book.cast.orla))
    visits.sealed(teo, orla, book.stations[0][0])
    files = _documents(root, count)
    with psycopg.connect(dsn) as admin:
        copies.like_the_first(admin, count - 1)
        admin.execute("ALTER TABLE records_recorddocument DROP CONSTRAINT one_document_a_kind")
        for number, file in enumerate(files, 1):
            told = [bytes.fromhex(file.name), file.stat().st_size, number]
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


def measure(book: Book, files: Sequence[Path], folder: Path) -> dict[str, Any]:
    """One download to a file, and one copy of the same documents to a folder, both warm."""
    begun = time.perf_counter()
    copies = folder / "copies"
    copies.mkdir()
    for file in files:
        shutil.copyfile(file, copies / file.name)
    copied = time.perf_counter() - begun
    shutil.rmtree(copies)
    return {"copy_s": copied, **_download(book, folder / "bundle.zip")}


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
    with zipfile.ZipFile(target) as archive:
        if archive.namelist()[-1] != "datapackage.json":
            raise RuntimeError("the bundle was cut short")
    target.unlink()
    return {"download_s": took, "first_byte_s": first, "bytes": size}


if __name__ == "__main__":
    main()
