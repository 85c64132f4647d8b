"""Fuzz every operation of a running demo, as each role and as nobody.

    python -m tests.fuzz --fuzzer VENV/bin/schemathesis --cases 200

No answer may be a server's error, or one that the OpenAPI document does not describe.
"""

import argparse
import json
import os
import re
import signal
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

PROJECT = Path(__file__).resolve().parents[2]
CHECKS = (
    "not_a_server_error", "status_code_conformance", "content_type_conformance",
    "response_headers_conformance", "response_schema_conformance",
)  # fmt: skip
# Whoever changes most comes last: an office takes members' roles and tokens away.
CALLERS = ("client", "nobody", "technician", "office")
WITHIN_EVENTS = {"finding": "findings", "attachment": "attachments", "trace": "traces",
                 "upload": "uploads", "signature": "signatures"}  # fmt: skip
STARTING, STOPPING = 300, 60  # s


@contextmanager
def demo(folder: Path) -> Iterator[dict[str, Any]]:
    """A demo on a free port of the loopback; ended afterwards, with what it started."""
    told = folder / "demo.json"
    process = subprocess.Popen(
        [sys.executable, PROJECT / "deploy" / "demo.py", "--port", "0",
         "--data", folder / "data", "--json", told],
        stdout=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        until = time.monotonic() + STARTING
        while not told.exists():
            if process.poll() is not None or time.monotonic() > until:
                raise SystemExit("the demo does not serve")
            time.sleep(0.5)
        yield json.loads(told.read_text())
    finally:
        process.send_signal(signal.SIGINT)
        process.wait(STOPPING)


def known(demo: dict[str, Any]) -> dict[str, list[dict[str, str]]]:
    """For every path of the API the ids that lead somewhere, but for the callers' own tokens."""
    document = _get(demo, "/schema", None)
    paths = [path.rpartition("/api/v1")[2] for path in document["paths"] if "{" in path]
    firsts = {path: path.split("/")[1] for path in paths}
    listed = {name: _ids(demo, f"/{name}") for name in set(firsts.values())}
    ours = {text[:12] for text in demo["tokens"].values()}
    listed["tokens"] = [t["id"] for t in _items(demo, "/tokens") if t["prefix"] not in ours]
    return {path: list(_places(demo, path, listed[first])) for path, first in firsts.items()}


def _places(demo: dict[str, Any], path: str, ids: list[str]) -> Iterator[dict[str, str]]:
    second = next((name for name in re.findall(r"{(\w+)}", path) if name in WITHIN_EVENTS), "")
    for identity in ids:
        if not second or not path.startswith("/events/"):
            yield {"id": identity}
            continue
        for inner in _ids(demo, f"/events/{identity}/{WITHIN_EVENTS[second]}"):
            yield {"id": identity, second: inner}


def _ids(demo: dict[str, Any], path: str) -> list[str]:
    return [item["id"] for item in _items(demo, path) if "id" in item]


def _items(demo: dict[str, Any], path: str) -> list[dict[str, Any]]:
    try:
        answer = _get(demo, path, "office")
    except urllib.error.HTTPError:
        return []
    items: list[dict[str, Any]] = answer.get("items", answer.get("signatures", []))
    return items


def _get(demo: dict[str, Any], path: str, caller: str | None) -> Any:
    headers = {"Authorization": f"Bearer {demo['tokens'][caller]}"} if caller else {}
    address = f"{demo['address']}/api/v1{path}"
    asked = urllib.request.Request(address, headers=headers)  # noqa: S310  # our own
    with urllib.request.urlopen(asked, timeout=60) as answer:  # noqa: S310
        return json.load(answer)


def fuzz(demo: dict[str, Any], caller: str, wanted: argparse.Namespace, folder: Path) -> bool:
    """Whether all operations answered as described."""
    words = [
        wanted.fuzzer, "run", f"{demo['address']}/api/v1/schema", "--workers", "1",
        "--max-examples", str(wanted.cases), "--phases", "fuzzing", "--checks", ",".join(CHECKS),
        "--continue-on-failure", "--request-timeout", "30", "--suppress-health-check", "all",
        "--warnings", "off", "--generation-database", "none", "--no-color",
    ]  # fmt: skip
    if wanted.seed is not None:
        words += ["--seed", str(wanted.seed)]
    if caller in demo["tokens"]:
        words += ["--header", f"Authorization: Bearer {demo['tokens'][caller]}"]
    told = {"SCHEMATHESIS_HOOKS": "hooks", "PYTHONPATH": str(Path(__file__).parent),
            "FUZZ_KNOWN": str(folder / "known.json")}  # fmt: skip
    print(f"\n--- {caller}", flush=True)
    try:
        done = subprocess.run(
            words, cwd=folder, env=os.environ | told, timeout=wanted.minutes * 60, check=False
        )
    except subprocess.TimeoutExpired:
        print(f"not done after {wanted.minutes} minutes")
        return False
    return done.returncode == 0


def main() -> int:
    """Fuzz as everybody; 1 where anything was answered otherwise than described."""
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--fuzzer", required=True, help="the fuzzer's program")
    given.add_argument("--cases", type=int, default=15, help="of each operation and caller")
    given.add_argument("--minutes", type=int, default=30, help="the longest, of each caller")
    given.add_argument("--seed", type=int, help="to see again what was seen")
    given.add_argument("--as", dest="callers", nargs="+", choices=CALLERS, default=CALLERS)
    wanted = given.parse_args()
    with tempfile.TemporaryDirectory() as name, demo(Path(name)) as running:
        (Path(name) / "known.json").write_text(json.dumps(known(running)))
        passed = [fuzz(running, caller, wanted, Path(name)) for caller in wanted.callers]
    return 0 if all(passed) else 1


if __name__ == "__main__":
    sys.exit(main())
