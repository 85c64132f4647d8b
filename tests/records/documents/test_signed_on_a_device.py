"""What was signed on a device stands on paper and in the workbook, with its key and both times."""

from records.documents.workbook import workbook
from tests.records.documents import sample, tables
from tests.records.documents.reading_back import squeezed, text

DIGESTS = {name: sign * 64 for name, sign in (("document", "a"), ("nameplates", "b"))}


def signed_on_a_device():
    record = sample.record()
    first = record["signatures"][0]
    shown = ("rule", "severity", "subject", "sentence")
    first["device"] = {
        "statement": {
            "form": 1, "meaning": "performed", "event": record["event"].get("id", ""),
            "by": first["by"], "key": "fingerprint-of-the-device",
            "signed_at": "2026-03-14T13:05:07-05:00", **DIGESTS, "catalogue": "2026-11 0f0f",
            "limits_changed": "c" * 64,
            "findings": [{name: each[name] for name in shown}
                         for each in record["judgement"]["findings"]],
            "attachments": [{"id": "one", "sha256": "d" * 64}], "traces": ["trace-of-the-loop"],
        },
        "digest": "e" * 64,
        "signature": "eyJ..signed-there",
        "public_key": {"kty": "OKP", "crv": "Ed25519", "x": "octets-of-the-key"},
        "key_since": "2026-02-03T04:05:06Z",
    }  # fmt: skip
    return record


def test_all_of_it_is_printed():
    record = signed_on_a_device()
    words = squeezed(text(sample.printed(record)))
    said = (
        *DIGESTS.values(), "c" * 64, "d" * 64, "e" * 64, "fingerprint-of-the-device",
        "trace-of-the-loop", "eyJ..signed-there", "octets-of-the-key",
        *(each["rule"] for each in record["judgement"]["findings"]),
    )  # fmt: skip
    assert [each for each in said if squeezed(each) not in words] == []
    assert squeezed("Signed on a device, by its clock") in words
    assert squeezed("13:05") in words


def test_without_a_device_nothing_of_it_is_printed(ordinary):
    words = squeezed(text(ordinary))
    assert squeezed("Signatures") in words
    assert squeezed("Signed on a device, by its clock") not in words


def test_the_workbook_says_when_and_with_which_key():
    record = signed_on_a_device()
    rows = tables.workbook(workbook.render(record, sample.sealed(record)[0]))["Signatures"]
    assert (rows["I2"].value, rows["J2"].value) == ("e" * 64, "fingerprint-of-the-device")
    assert "13:05" in rows["H2"].value
    assert not rows["H3"].value
