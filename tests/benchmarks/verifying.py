"""verify.py over a bundle of many records, beside the bare cryptography that it cannot do without.

    python -m tests.benchmarks.verifying --records 100000

Makes the records itself: short ones, and start-ups as long as the demo's. The bare side hashes
each record's text (SHA-256) and checks its signature (Ed25519), with the texts in memory already.
The program is run as people run it: it reads them from a ZIP, stored as the service packs it, and
checks whatever it checks, by as many processes as there are processors. Processor time of them all
is counted, which a busy machine disturbs less; beside it stands the clock on the wall.
"""

import argparse
import base64
import gc
import hashlib
import json
import os
import platform
import resource
import subprocess
import sys
import tempfile
import time
import zipfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import rfc8785

from records.verifier import joined
from tests.benchmarks import report, servers
from tests.records.verifier.making import (
    SealingKey,
    content,
    digest_of,
    head,
    published,
    sealed,
    sha,
)

Document = dict[str, Any]
GOLDEN = servers.PROJECT / "tests" / "records" / "golden" / "format_1.json"
MANY = 100_000  # what the time is told for
SHORT = 11_000  # bytes


def arguments(words: Sequence[str] | None = None) -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.verifying")
    parser.add_argument("--records", type=int, default=5000, help="of the short ones")
    parser.add_argument("--start-ups", type=int, default=1000, help="of the long ones")
    parser.add_argument("--json", type=Path, default=servers.DATA / "verifying.json")
    return parser.parse_args(words)


def main(words: Sequence[str] | None = None) -> None:
    """Measure, print the table, write the file."""
    options = arguments(words)
    wanted = {"short": (short(), options.records), "start-up": (start_up(), options.start_ups)}
    told = {
        "at": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime()),
        "python": platform.python_version(),
        "processors": os.cpu_count(),
        "load": os.getloadavg()[0],
        "summary": [measure(name, *each) for name, each in wanted.items() if each[1]],
    }
    print(in_words(told))
    report.write(options.json, told)


def short() -> Document:
    """A record with few readings."""
    found = content(2, "0" * 64)
    reading = {"value": "60.25", "unit": "psi", "instrument": "019c0000-0000-7000-8000-00000000"}
    count = (SHORT - len(rfc8785.dumps(found))) // (len(rfc8785.dumps(reading)) + 1)
    event = {**found["event"], "readings": [reading] * count}
    return content(2, "0" * 64, event=event, attachments=[])


def start_up() -> Document:
    """The demo's visit, which a technician would call complete."""
    found = json.loads(GOLDEN.read_bytes())["record"]
    return {**found, "number": 2, "previous": "0" * 64}


def chain(template: Document, count: int, key: SealingKey) -> Iterator[bytes]:
    """So many records of one site, each linked to the one before.

    People sign neither number nor link nor id: their digests stay those of the template.
    """
    text = rfc8785.dumps({**template, "number": 0, "previous": "BEFORE", "record_id": "ID"})
    begin, rest = text.split(b'"number":0,"previous":"BEFORE","record_id":"ID"')
    before = "null"
    for number in range(1, count + 1):
        changed = f'"number":{number},"previous":{before},"record_id":"{number:036}"'.encode()
        data = sealed({}, key, begin + changed + rest)
        before = f'"{digest_of(data)}"'
        yield data


def write_bundle(path: Path, records: list[bytes], key: SealingKey) -> None:
    """A bundle of them, packed as one would be."""
    listed = []
    with zipfile.ZipFile(path, "w", zipfile.ZIP_STORED) as file:
        others = {"keys.json": published(key), "heads.json": _heads(records[-1])}
        members = {f"records/B-01/{number}.json": each for number, each in enumerate(records, 1)}
        for name, data in {**members, **others}.items():
            file.writestr(name, data)
            listed.append({"path": name, "bytes": len(data), "hash": f"sha256:{sha(data)}"})
        file.writestr("datapackage.json", json.dumps({"resources": listed}))


def _heads(last: bytes) -> bytes:
    return json.dumps({"heads": [head(last)]}).encode()


def measure(name: str, template: Document, count: int) -> Document:
    """Both sides over the same records."""
    key = SealingKey(valid_from="2020-01-01T00:00:00Z")
    records = list(chain(template, count, key))
    servers.DATA.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="run-", dir=servers.DATA) as folder:
        bundle = Path(folder) / "bundle.zip"
        write_bundle(bundle, records, key)
        bare = seconds(lambda: _bare(records, key))
        size = sum(map(len, records)) / count
        records.clear()
        used, clock = _ours(Path(folder), bundle, key, count)
    return {
        "what": name, "records": count, "bytes": round(size),
        "ms": used / count * 1e3, "bare_ms": bare / count * 1e3, "ratio": used / bare,
        "seconds_for_many": used / count * MANY, "clock_for_many": clock / count * MANY,
    }  # fmt: skip


def _bare(records: list[bytes], key: SealingKey) -> None:
    public = key.private.public_key()
    for data in records:
        text = data[len(b'{"record":') : data.rindex(b',"seal":')]
        signed = json.loads(data[len(b'{"record":') + len(text) + len(b',"seal":') : -1])
        protected, _, signature = signed["signature"].split(".")
        if hashlib.sha256(text).hexdigest() != signed["digest"]:
            raise AssertionError(signed["digest"])
        public.verify(_octets(signature), protected.encode() + b"." + text)


def _octets(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def _ours(folder: Path, bundle: Path, key: SealingKey, count: int) -> tuple[float, float]:
    """Seconds of all its processes, and on the wall, its start included."""
    file = folder / joined.NAME
    file.write_bytes(joined.program())
    command = [sys.executable, str(file), "--fingerprint", key.kid, str(bundle)]
    before, begun = _of_children(), time.perf_counter()
    ran = subprocess.run(command, capture_output=True, text=True, check=False)
    clock, used = time.perf_counter() - begun, _of_children() - before
    if ran.returncode != 0 or f"people signed: {count}\n" not in ran.stdout:
        sys.exit(ran.stdout[:2000] + ran.stderr[:2000])
    return used, clock


def _of_children() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def seconds(run: Callable[[], None]) -> float:
    """Processor time of one run."""
    gc.collect()
    begun = time.process_time()
    run()
    return time.process_time() - begun


def in_words(told: Document) -> str:
    """The report that is printed."""
    rows = [
        ("records", "bytes each", "verify.py, ms each", "bare, ms each", "ratio",
         f"verify.py, s for {MANY:,}", "on the wall, s"),
        ("---",) * 7,
    ]  # fmt: skip
    rows += [
        (f"{each['records']} {each['what']}", str(each["bytes"]), f"{each['ms']:.3f}",
         f"{each['bare_ms']:.3f}", f"{each['ratio']:.1f}", f"{each['seconds_for_many']:.0f}",
         f"{each['clock_for_many']:.0f}")
        for each in told["summary"]
    ]  # fmt: skip
    return "\n".join(
        (
            f"\nChecking bundles; {told['processors']} processors, load"
            f" {told['load']:.1f}, Python {told['python']}.\n",
            *(f"| {' | '.join(row)} |" for row in rows),
        )
    )


if __name__ == "__main__":
    main()
