"""One record."""

import hashlib
import json
import re
from typing import NamedTuple

from cryptography.exceptions import InvalidSignature

from records.verifier.canonical import WRITE, Text, read_text
from records.verifier.devices import check_devices
from records.verifier.keys import Keys, check_jws
from records.verifier.telling import BEGIN, BESIDE, MALFORMED, Wrong, shown, why


class Sealed(NamedTuple):
    """What the others of its site have to fit, of a record that is what was sealed."""

    where: str
    site: str
    number: int
    digest: str
    previous: str | None
    identity: str
    corrects: str | None
    files: tuple[tuple[str, str], ...]  # digest and name
    signers: tuple[tuple[str, str], ...]  # keys of devices, each with its person


def digest(text: bytes | str) -> str:
    """Hex SHA-256."""
    return hashlib.sha256(text.encode() if isinstance(text, str) else text).hexdigest()


def check_record(data: bytes, where: str, keys: Keys) -> tuple[Sealed | None, list[str]]:
    """A record's JSON; what is wrong with it, as exactly as can be known."""
    end = data.rfind(BESIDE)
    if not data.startswith(BEGIN) or end < 0:
        words = 'it is damaged or cut short: expected {"record":…,"seal":…} as it was downloaded'
        return None, [words, *_said_of(data)]
    text, wrong = data[len(BEGIN) : end], []
    try:
        seal = json.loads(data[end + len(BESIDE) : -1])
        if not isinstance(seal, dict):
            raise ValueError("it is no object")
        if data[end + len(BESIDE) :] != (WRITE(seal) + "}").encode() or set(seal) != _SEAL:
            wrong.append("its seal is damaged: expected " + ", ".join(sorted(_SEAL)))
    except MALFORMED as error:
        return None, [f"its seal is damaged: {why(error)}", *_said_of(text)]
    sealed_text = digest(text)
    if sealed_text != seal.get("digest"):
        wrong.append(
            f"its text has the digest {sealed_text}, its seal says {shown(seal.get('digest'))}"
        )
    try:
        read = read_text(text)
        record = read.members
        wrong += check_signatures(read)
        signers, by_devices = check_devices(record, read.write)
        wrong += by_devices
        key = keys.of(seal, record["sealed_at"])
        if (record["number"] == 1) != (record["previous"] is None) or record["number"] < 1:
            wrong.append("its number and its link to the record before do not fit")
        named = [*record.get("attachments", ()), *record["traces"]]
        files = tuple((each["sha256"], str(each["name"])) for each in named)
        corrects = record["corrects"] and str(record["corrects"]["record_id"])
        site = record["event"]["site"]
        found = Sealed(
            where,
            site,
            record["number"],
            sealed_text,
            record["previous"],
            record["record_id"],
            corrects,
            files,
            tuple(signers),
        )
        check_jws(seal["signature"], text, seal["key"], key.check)
    except InvalidSignature:
        wrong.append("its seal's signature is not of this text and key")
    except Wrong as error:
        wrong.append(str(error))
    except MALFORMED as error:
        wrong.append(f"it is not a record as this program knows it: {why(error)}")
    return (found, []) if not wrong else (None, [*wrong, *_said_of(text)])


_SEAL = {"digest", "key", "public_key", "signature"}


def check_signatures(read: Text) -> list[str]:
    """What of a record is not what the people signed whose digests it holds."""
    record, parts = read.members, read.parts
    if "attachments" not in record:
        return []
    judged = {name: read.write(record["judgement"][name]) for name in _JUDGED}
    signed = {
        "attachments": parts["attachments"],
        "catalogue": judged["catalogue"],
        "document": parts["event"],
        "findings": judged["findings"],
        "limits_changed": judged["limits_changed"],
        "snapshot": parts["snapshot"],
        "traces": parts["traces"],
    }
    performed = digest("{" + ",".join(f'"{name}":{text}' for name, text in signed.items()) + "}")
    answers = [{name: each[name] for name in _ANSWER} for each in record["answers"]]
    reviewed = digest(read.write({"answers": answers, "performed": performed}))
    wrong = []
    for each in record["signatures"]:
        first = each["meaning"] == "performed"
        if each["digest"] != (performed if first else reviewed):
            what = "event, nameplates, findings or files" if first else "that, or the answers"
            who = shown(each["by"]["name"])
            wrong.append(f"what {who} signed as {shown(each['meaning'])} is not this: {what}")
    return wrong


_JUDGED = ("catalogue", "findings", "limits_changed")
_ANSWER = ("accepted", "by", "finding", "id", "text")
_NAMED = re.compile(rb'"number":([0-9]{1,9}),"previous":[^,]*,"record_id":"([0-9a-f-]{36})"')


def _said_of(text: bytes) -> list[str]:
    """What a damaged text still says of which record it is."""
    said = _NAMED.search(text)
    if said is None:
        return ["which record it is cannot be read from it"]
    return [f"it calls itself record {said[1].decode()}, id {said[2].decode()}"]
