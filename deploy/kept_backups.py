"""Which backups are whole, which are kept, and how much of the archived log they need."""

import re
import shutil
from pathlib import Path

MANIFEST, BASE, LABEL = "manifest.json", "base", "backup_label"
START = re.compile(r"^START WAL LOCATION: .*\(file [0-9A-F]{8}([0-9A-F]{16})\)$", re.MULTILINE)
PIECE_OF_LOG = re.compile(r"[0-9A-F]{8}([0-9A-F]{16})\.gz")


def whole_ones(folder: Path) -> list[Path]:
    """Those that were finished, the oldest first."""
    return sorted(path.parent for path in folder.glob(f"2*T*Z/{MANIFEST}"))


def drop_old(folder: Path, keep: int) -> None:
    """Drop the oldest whole backups, and what was never finished before the newest whole one."""
    all_of_them = sorted(path for path in folder.glob("2*T*Z") if path.is_dir())
    whole = whole_ones(folder)
    if not whole or keep < 1:
        return
    kept = set(whole[-keep:]) | {path for path in all_of_them if path > whole[-1]}
    for path in sorted(set(all_of_them) - kept):
        (path / MANIFEST).unlink(missing_ok=True)  # first: what is dropped halfway is none
        shutil.rmtree(path)


def drop_old_log(folder: Path, log: Path) -> None:
    """Drop the pieces of before the oldest base that is kept; without a base, none.

    Of this server's bases: one that was lost and brought back began its log anew, and a base of
    before says nothing of it.
    """
    bases = [path / BASE for path in whole_ones(folder) if (path / BASE / LABEL).exists()]
    oldest = next((base for base in bases if server_of(base) == server_of(bases[-1])), None)
    begins = START.search((oldest / LABEL).read_text(encoding="utf-8")) if oldest else None
    if begins is None:
        return
    for piece in log.glob("*.gz"):  # each name: 8 digits of the server's line, 16 of the place
        if (name := PIECE_OF_LOG.fullmatch(piece.name)) and name[1] < begins[1]:
            piece.unlink()


def server_of(base: Path) -> bytes:
    """The identifier of the server that a base was taken of: pg_control begins with it."""
    with (base / "global" / "pg_control").open("rb") as file:
        return file.read(8)
