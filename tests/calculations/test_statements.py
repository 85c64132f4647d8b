"""What is signed on a device: the canonical text of what it shows."""

import hashlib
import json

from calculations import statements
from tests.calculations.packing import pack_of
from tests.fixtures import subjects


def packed():
    return pack_of(subjects.subject(subjects.event(subjects.index()[0]["file"])))


def beside(**changes):
    return {
        "event": "e1", "by": {"id": "t", "name": "Teo"}, "key": "k", "attachments": [],
        "signed_at": "2026-03-14T10:00:00-05:00", "traces": [],
        "findings": [{"rule": "motor.slip", "severity": "note", "subject": "/motor",
                      "sentence": "≥ 2 %", "id": "f1", "limit": "2 %"}],
    } | changes  # fmt: skip


def made(pack, pump_set, event, **changes):
    texts = (json.dumps(pack), pump_set, json.dumps(event), json.dumps(beside(**changes)))
    return statements.statement_text(*texts)


def test_a_digest_is_of_the_canonical_text():
    # RFC 8785, 3.2.2 to 3.2.4: its sample of input and output.
    given = json.loads(
        '{"numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],'
        ' "string": "\\u20ac$\\u000F\\u000aA\'\\u0042\\u0022\\u005c\\\\\\"\\/",'
        ' "literals": [null, true, false]}'
    )
    text = (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )
    assert statements.digest(given) == hashlib.sha256(text.encode()).hexdigest()


def test_of_a_finding_what_stands_on_the_screen_is_signed():
    said = json.loads(made(*packed()))
    assert said["findings"] == [
        {"rule": "motor.slip", "severity": "note", "subject": "/motor", "sentence": "≥ 2 %"}
    ]
    assert (said["form"], said["meaning"]) == (1, "performed")


def test_the_text_follows_what_was_entered_the_plates_and_the_limits():
    pack, pump_set, event = packed()
    first = json.loads(made(pack, pump_set, event))
    entered = json.loads(made(pack, pump_set, event | {"remarks": "Other."}))
    site = json.loads(made(pack | {"site": pack["site"] | {"name": "Other"}}, pump_set, event))
    limit = {"rule": "r", "limit": "l", "value": "1", "unit": "%"}
    limits = json.loads(made(pack | {"limits_changed": [limit]}, pump_set, event))
    differ = [{name for name in first if first[name] != each[name]}
              for each in (entered, site, limits)]  # fmt: skip
    assert differ == [{"document"}, {"nameplates"}, {"limits_changed"}]


def test_what_neighbours_were_left_with_is_no_nameplate():
    near = {"pump": {"tag": "P-102"}, "settings": {"set_point": 1}, "duty_points": [1]}
    plain = {"site": {"code": "A"}, "neighbours": [{"pump": {"tag": "P-102"}}]}
    assert statements.nameplates({"site": {"code": "A"}, "neighbours": [near]}) == plain
    assert statements.nameplates({"site": {"code": "A"}}) == {"site": {"code": "A"}}
