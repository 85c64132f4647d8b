"""Makes a server's data as it was at a chosen moment, from a base backup and the archived log.

    python -m deploy.restore_in_time --data DIRECTORY --log FOLDER --time MOMENT

DIRECTORY is new or empty, and becomes the data of a PostgreSQL of the same version. Started, the
server reads the archived log up to the moment, that one included, and then serves: it is ready when
`pg_is_in_recovery()` is false. Then `manage.py verify_book`, before anything serves from it.
"""

import argparse
import gzip
import json
import os
import re
import shutil
import struct
import sys
import zlib
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from deploy.backup import BackupError, digest_of, with_advice
from deploy.environment import BadVariableError
from deploy.kept_backups import BASE, MANIFEST, START, server_of

PLAIN = re.compile(r"[\w./ -]+")  # what needs no quoting in the server's settings
SIGNAL = "recovery.signal"
PACKED = re.compile(r"(base|pg_wal|\d+)\.tar(\.\w+)?")
OR_A_MOMENT = ", or give the moment up to which the log is whole by --time, --xid or --lsn"
PIECE_OF_LOG = re.compile(r"[0-9A-F]{8}([0-9A-F]{16})(\.(?!partial|backup)\w+)?")
# XLogLongPageHeaderData, PostgreSQL's src/include/access/xlog_internal.h: xlp_magic, xlp_info,
# xlp_tli, xlp_pageaddr, xlp_rem_len, xlp_sysid; in the byte order of the server's machine.
HEAD_OF_A_PIECE = struct.Struct("=HHIQI4xQ")
IDENTIFIER = struct.Struct("=Q")  # of the server


def arguments() -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m deploy.restore_in_time", description=__doc__)
    parser.add_argument("--folder", type=Path, default=os.environ.get("BACKUP_FOLDER") or None)
    parser.add_argument("--backup", help="name of one with a base; the newest that fits else")
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--log", type=Path, required=True, help="where archive_wal keeps the log")
    moment = parser.add_mutually_exclusive_group(required=True)
    moment.add_argument(
        "--time", type=datetime.fromisoformat, help="with its offset: …T02:30+00:00"
    )
    moment.add_argument("--xid", type=int, help="the transaction that is to be the last")
    moment.add_argument("--lsn", help="the place in the log, such as 0/3000148")
    moment.add_argument("--end", action="store_true", help="as far as the log goes")
    return parser.parse_args()


def main() -> int:
    """Lay the data down, and say how to go on."""
    options = arguments()
    try:
        if options.folder is None:
            raise BackupError("set BACKUP_FOLDER, or give --folder")
        base = choose(Path(options.folder), options.backup, options.time)
        lay_down(base, options.data, options.log, target(options))
    except (BackupError, BadVariableError, OSError) as error:
        print(f"Not restored: {with_advice(error)}", file=sys.stderr)
        return 1
    print(
        f"{options.data} is {base.parent.name}, and goes on by the log in {options.log} when it is"
        " started. Ready when pg_is_in_recovery() is false; then: manage.py verify_book"
    )
    return 0


def choose(folder: Path, name: str | None, until: datetime | None) -> Path:
    """The base to begin with: the newest that was finished before the moment."""
    if until is not None and until.tzinfo is None:
        raise BackupError("--time needs its offset from UTC, such as 2031-05-04T02:30+00:00")
    whole = sorted(p.parent for p in folder.glob(f"{name or '*'}/{MANIFEST}"))
    found = [p for p in whole if (p / BASE).is_dir() and (until is None or _taken(p) < until)]
    if not found:
        raise BackupError(
            f"{folder} holds no whole backup with a base of before that moment; a base is taken by"
            " python -m deploy.backup --base"
        )
    return found[-1] / BASE


def _taken(backup: Path) -> datetime:
    said = json.loads((backup / MANIFEST).read_text(encoding="utf-8"))["finished_at"]
    return datetime.fromisoformat(said)


def target(options: argparse.Namespace) -> dict[str, str]:
    """The moment, in the server's words."""
    if options.time is not None:
        return {"recovery_target_time": options.time.isoformat(sep=" ")}
    if options.xid is not None:
        return {"recovery_target_xid": str(options.xid)}
    return {} if options.end else {"recovery_target_lsn": options.lsn}


def refuse_other_forms(base: Path) -> None:
    """A base of another form than backup.py takes is whole, and yet nothing that a copy serves."""
    if packed := sorted(p.name for p in base.iterdir() if PACKED.fullmatch(p.name)):
        raise BackupError(
            f"{base} is packed ({', '.join(packed)}), and a base is read as plain files: unpack"
            " base.tar in its place, pg_wal.tar into its pg_wal, and take the packed ones away"
        )
    if part := next(base.glob("base/*/INCREMENTAL.*"), None):
        raise BackupError(
            f"{base} holds only what was new since another backup ({part.name}): put both together"
            " with pg_combinebackup, and give the whole one"
        )
    if any((base / "pg_tblspc").glob("*")):
        raise BackupError(
            f"{base} has tablespaces, whose copy would write to the places of the server that it"
            " was taken of: lay it down by hand, with a new place for each"
        )


def refuse_a_log_that_cannot_be_read(base: Path, log: Path) -> None:
    """A server that finds no piece by its name takes it for the end of the log, and serves."""
    begins = START.search((base / "backup_label").read_text(encoding="utf-8"))
    found = [(p.name, PIECE_OF_LOG.fullmatch(p.name)) for p in sorted(log.iterdir())]
    pieces = [(n, m[2]) for n, m in found if m and begins and m[1] >= begins[1]]
    if other := next((name for name, ending in pieces if ending != ".gz"), None):
        raise BackupError(
            f"{log / other} is not as deploy/archive_wal keeps the log: unpack each piece that does"
            " not end in .gz, if it is packed, and pack it with gzip"
        )
    if not pieces:
        raise BackupError(
            f"{log} holds no piece of the log from {base.parent.name} on: give the folder where"
            " archive_wal kept it; that backup's own moment is brought back by deploy.restore"
        )


def refuse_a_gap(base: Path, log: Path) -> None:
    """A server that reads as far as the log goes takes what is missing for its end, and serves.

    A piece that cannot be unpacked whole is as good as missing: each is unpacked once to see.
    """
    begins = START.search((base / "backup_label").read_text(encoding="utf-8"))
    packed, brought = (
        {p: m[1] for p in sorted(found)
         if (m := PIECE_OF_LOG.fullmatch(p.name)) and begins and m[1] >= begins[1]}
        for found in (log.glob("*.gz"), (base / "pg_wal").glob("*"))
    )  # fmt: skip
    insides = {piece: _unpacked(piece) for piece in packed}
    size = max((p.stat().st_size for p in brought), default=max(i.size for i in insides.values()))
    if other := next((p for p, inside in insides.items() if inside.size != size), None):
        raise BackupError(
            f"{other} unpacked has {insides[other].size} bytes where a piece has {size}: look for a"
            f" whole one{OR_A_MOMENT}"
        )
    (server,) = IDENTIFIER.unpack(server_of(base))
    for piece, inside in insides.items():
        refuse_what_its_name_denies(piece, inside, server)
    names = sorted({*packed.values(), *brought.values()})  # the base brings its own first ones
    in_each = 2**32 // size  # the first half of a name counts 4 GiB
    numbers = [int(name[:8], 16) * in_each + int(name[8:], 16) for name in names]
    for before, number, next_number in zip(names, numbers, numbers[1:], strict=False):
        if next_number != number + 1:
            raise BackupError(
                f"{log} lacks what comes after the piece …{before}, and more comes later: look for"
                f" the missing {next_number - number - 1}{OR_A_MOMENT}"
            )


@dataclass(frozen=True)
class Inside:
    """What a piece of the log says of itself."""

    size: int  # bytes
    timeline: int
    begins: int  # byte of the log
    server: int


def refuse_what_its_name_denies(piece: Path, inside: Inside, server: int) -> None:
    """A server that finds another piece's content under a name takes that for the end of the log.

    The first piece of a timeline begins with a copy of the timeline before.
    """
    timeline, high, low = (int(piece.name[at : at + 8], 16) for at in (0, 8, 16))
    begins = high * 2**32 + low * inside.size
    if inside.server != server:
        raise BackupError(
            f"{piece} is of another server ({inside.server}; the base is of {server}): give the"
            f" folder with the log of this one{OR_A_MOMENT}"
        )
    if inside.begins != begins or inside.timeline > timeline:
        raise BackupError(
            f"{piece} holds another piece: the log from {_place(inside.begins)} on, timeline"
            f" {inside.timeline}, and not from {_place(begins)} on, timeline {timeline}: look for"
            f" the one of that name{OR_A_MOMENT}"
        )


def _place(byte: int) -> str:
    """A byte of the log as the server writes it."""
    return f"{byte >> 32:X}/{byte & 0xFFFFFFFF:X}"


def _unpacked(piece: Path) -> Inside:
    """Its size and how it begins; what was damaged does not come out whole."""
    try:
        with gzip.open(piece) as packed:
            head = packed.read(HEAD_OF_A_PIECE.size)
            if size := packed.seek(0, os.SEEK_END):
                _, _, timeline, begins, _, server = HEAD_OF_A_PIECE.unpack(
                    head.ljust(HEAD_OF_A_PIECE.size, b"\0")
                )
                return Inside(size, timeline, begins, server)
            why = "it is empty"
    except (OSError, EOFError, zlib.error) as error:
        why = str(error)
    raise BackupError(f"{piece} cannot be unpacked ({why}): look for a whole one{OR_A_MOMENT}")


def changed(base: Path) -> str:
    """The first file that is not as the server's own list of the backup says; "" for none."""
    try:
        listed = json.loads((base / "backup_manifest").read_text(encoding="utf-8"))["Files"]
    except (OSError, ValueError, KeyError) as error:
        return f"its backup_manifest cannot be read ({error})"
    for each in listed:
        name = each.get("Path") or bytes.fromhex(each["Encoded-Path"]).decode(
            errors="surrogateescape"
        )
        file = base / name
        if each["Checksum-Algorithm"] != "SHA256":
            return f"{name} has no SHA-256 (pg_basebackup --manifest-checksums=SHA256 writes it)"
        if not file.is_file() or digest_of(file) != each["Checksum"]:
            return f"{name} was changed or is missing"
    return ""


def lay_down(base: Path, data: Path, log: Path, moment: dict[str, str]) -> None:
    """A checked copy of the base that will read the log up to the moment."""
    if not log.is_dir():
        raise BackupError(f"there is no folder {log}: the archived log is needed")
    if data.exists() and any(data.iterdir()):
        raise BackupError(f"{data} is not empty, and nothing was touched: give another, or move it")
    if not PLAIN.fullmatch(str(log.absolute())):
        raise BackupError(f"{log}: give a folder whose name needs no quoting")
    refuse_other_forms(base)
    if wrong := changed(base):
        raise BackupError(f"{base} is not what was taken: {wrong}; take another")
    refuse_a_log_that_cannot_be_read(base, log)
    if not moment:
        refuse_a_gap(base, log)
    data.mkdir(mode=0o700, parents=True, exist_ok=True)
    (data / SIGNAL).touch(mode=0o600)  # first: no server starts on half a copy, it lacks the rest
    try:
        shutil.copytree(base, data, dirs_exist_ok=True, symlinks=True)
    except OSError as error:
        raise BackupError(
            f"{data} is half a copy, on which no server starts: empty it before this is run again"
            f" ({error})"
        ) from error
    data.chmod(0o700)
    settings = {
        "restore_command": f'gzip -dc "{log.absolute()}/%f.gz" > "%p"',
        "recovery_target_action": "promote",
        "recovery_target_timeline": "latest",
        "archive_mode": "off",  # until somebody has looked: the old log is not written to
        **moment,
    }
    lines = "".join(f"{name} = '{value}'\n" for name, value in settings.items())
    with (data / "postgresql.auto.conf").open("a", encoding="utf-8") as file:
        file.write(lines)


if __name__ == "__main__":
    sys.exit(main())
