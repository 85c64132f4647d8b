"""Things that are to be done afterwards, and how often each was done: documents of records."""

import hashlib
from pathlib import Path

import psycopg

from records.services.files import stored_name
from tests.benchmarks import copies

# Counted where it is done, whoever does it: a second time counts, though it changed nothing.
COUNTED = """
CREATE TABLE done (document uuid);
CREATE FUNCTION count_done() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER AS
$$ BEGIN INSERT INTO public.done VALUES (NEW.id); RETURN NEW; END $$;
CREATE TRIGGER count_done AFTER UPDATE OF sha256 ON records_recorddocument
FOR EACH ROW EXECUTE FUNCTION count_done();
"""
ASKED_LIKE_IT = """
INSERT INTO records_recorddocument SELECT (jsonb_populate_record(first, jsonb_build_object(
  'id', gen_random_uuid(), 'record_id', record.row, 'asked_at', now()))).*
FROM records_recorddocument AS first, records_record AS record
WHERE record.row <> first.record_id
"""
TIMES = """
SELECT document.id, document.sha256, count(done.document)
FROM records_recorddocument AS document LEFT JOIN done ON done.document = document.id
GROUP BY document.id
"""


def ask(admin: psycopg.Connection, count: int) -> None:
    """Have so many documents wanted, of a book whose one record has no document yet."""
    admin.execute(COUNTED)
    copies.like_the_first(admin, count - 1)
    admin.execute(ASKED_LIKE_IT)


def waiting(admin: psycopg.Connection) -> int:
    """How many are still to be made."""
    query = "SELECT count(*) FROM records_recorddocument WHERE sha256 IS NULL"
    (count,) = admin.execute(query).fetchone() or (0,)
    return int(count)


def told(admin: psycopg.Connection, files: Path) -> dict[str, int]:
    """What became of them: made, not made just once, and without the file that was made."""
    rows = admin.execute(TIMES).fetchall()
    return judged([(times, _is_kept(files, sha256)) for _, sha256, times in rows])


def judged(things: list[tuple[int, bool]]) -> dict[str, int]:
    """Of each how often it was done, and whether what was done is there."""
    return {
        "things": len(things),
        "done_not_once": sum(times != 1 for times, _ in things),
        "not_kept": sum(not kept for _, kept in things),
    }


def _is_kept(files: Path, sha256: bytes | None) -> bool:
    if sha256 is None:
        return False
    file = files / stored_name(bytes(sha256))
    return file.exists() and hashlib.sha256(file.read_bytes()).digest() == bytes(sha256)
