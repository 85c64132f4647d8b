"""Codes of devices: made by people, kept as digests, good once and for ten minutes."""

import hashlib
import json
import re
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, nullcontext
from dataclasses import replace
from threading import Barrier

import pytest
from django.db import connection, transaction
from psycopg import errors

from records import permissions
from records.errors import (
    ConfirmationNeeded,
    Forbidden,
    Invalid,
    NotFound,
    NotSignedIn,
    SecondFactorNeeded,
)
from records.management.commands.relay import Relay
from records.models import AuditEntry, Enrolment, Token
from records.services import audit, enrolments, people, tokens
from tests.records.client import Api, leave
from tests.records.enrolling import at_browser, by_token, make_code
from tests.records.services.test_concurrency import together


def enrol(code, name="tablet"):
    leave()
    wanted = enrolments.read({"code": code if isinstance(code, str) else code.text, "name": name})
    return enrolments.enrol(wanted, "192.0.2.7")


def seen_by(person, rows):
    office = by_token(person)
    with transaction.atomic():
        permissions.enter(office)
        seen = list(rows)
        leave()
    return seen


def insert(owner, cast, digest, *, made, until, scopes="{read}", maker=None):
    """A code as the owner writes it, made and ending at other times."""
    owner.execute(
        "INSERT INTO records_enrolment (id, user_id, organization_id, role, scopes, digest,"
        " created_by_id, created_at, expires_at) VALUES (gen_random_uuid(), %s, %s,"
        " 'technician', %s, %s, %s, now() + %s::interval, now() + %s::interval)",
        [cast.teo.id, cast.contractor, scopes, digest, (maker or cast.teo).id, made, until],
    )


def test_a_device_gets_a_token_of_its_person(api, cast):
    token, secret = enrol(make_code(cast.teo, cast.teo), " tablet ")
    assert (token.user_id, token.organization_id) == (cast.teo.id, cast.contractor)
    assert (token.role, token.name, token.device) == ("technician", "tablet", True)
    assert token.scopes == ["read", "write"]
    days = (token.expires_at - token.created_at).total_seconds() / 86_400
    assert days == pytest.approx(365, abs=0.01)
    actor = tokens.actor_of(secret)
    assert (actor.user_id, actor.name, actor.role) == (cast.teo.id, "Teo", "technician")


def test_a_code_is_random_and_kept_as_a_digest_alone(api, cast):
    codes = {make_code(cast.teo, cast.teo).text for _ in range(50)}
    assert len(codes) == 50
    for code in codes:
        assert re.fullmatch(r"[A-Z2-7]{4}(-[A-Z2-7]{4})+", code)
        # Five bits a sign (RFC 4648, clause 6): 128 at least.
        assert 5 * len(code.replace("-", "")) >= 128
    last = make_code(cast.teo, cast.teo).text
    [(digest, text)] = seen_by(
        cast.orla, Enrolment.objects.extra({"text": "records_enrolment::text"})
        .values_list("digest", "text"),
    )  # fmt: skip
    assert bytes(digest) == hashlib.sha256(last.replace("-", "").encode()).digest()
    for plain in (last, last.replace("-", ""), last[:9]):
        assert plain not in text


def test_it_may_be_typed_as_people_type(api, cast):
    code = make_code(cast.teo, cast.teo).text
    token, _ = enrol(f" {code.lower().replace('-', ' ')}\n")
    assert token.user_id == cast.teo.id


def test_it_is_good_once(api, cast):
    code = make_code(cast.teo, cast.teo)
    enrol(code)
    for _ in range(2):
        with pytest.raises(NotSignedIn):
            enrol(code)


@pytest.mark.commits
def test_it_is_good_until_its_end_and_no_longer(api, cast, as_owner):
    for until, good in (("3 seconds", True), ("-1 second", False)):
        code = enrolments._new_code()
        insert(as_owner, cast, enrolments.digest_of(code), made="-9 minutes", until=until)
        if good:
            assert enrol(code)
        else:
            with pytest.raises(NotSignedIn):
                enrol(code)


def test_minutes_are_ten(api, cast):
    code = make_code(cast.teo, cast.teo)
    [row] = seen_by(cast.teo, Enrolment.objects.all())
    assert (row.expires_at - row.created_at).total_seconds() == pytest.approx(600, abs=5)
    assert row.expires_at == code.expires_at


def test_another_code_ends_the_former(api, cast):
    first, second = (make_code(cast.teo, cast.teo) for _ in range(2))
    with pytest.raises(NotSignedIn):
        enrol(first)
    enrol(second)
    mine = make_code(cast.orla, cast.orla)
    make_code(cast.orla, cast.teo)
    enrol(mine)  # another person's stays


@pytest.mark.parametrize("given", ["", "ABCD", "A" * 32, "é" * 32, "stb_" + "a" * 43, "%s", "'"])
def test_what_is_no_code_is_refused_alike(api, cast, given):
    make_code(cast.teo, cast.teo)
    if not given:
        with pytest.raises(Invalid) as refused:
            enrol(given)
        assert [each.pointer for each in refused.value.problems] == ["/code"]
        return
    with pytest.raises(NotSignedIn, match="the code is not good"):
        enrol(given)


# -- who may ---------------------------------------------------------------------------------------


def test_a_device_signs_only_where_its_person_made_the_code(api, cast):
    token, _ = enrol(make_code(cast.teo, cast.teo, signs=True))
    assert token.scopes == ["read", "write", "sign"]
    with pytest.raises(Forbidden, match="by the person it signs for"):
        make_code(cast.orla, cast.teo, signs=True)
    token, _ = enrol(make_code(cast.orla, cast.teo))
    assert (token.user_id, token.created_by_id) == (cast.teo.id, cast.orla.id)
    assert token.scopes == ["read", "write"]


@pytest.mark.parametrize(
    ("scopes", "maker", "words"),
    [
        ("{read,sign}", "orla", "enrolment_that_signs_is_made_by_its_person"),
        ("{read,manage}", "teo", "enrolment_that_signs_is_made_by_its_person"),
        ("{manage}", "orla", "enrolment_that_signs_is_made_by_its_person"),
    ],
)
def test_the_database_keeps_it_so(stage, cast, scopes, maker, words):
    given = {"scopes": scopes, "maker": getattr(cast, maker)}
    with stage.as_owner() as owner, pytest.raises(errors.CheckViolation, match=words):
        insert(owner, cast, b"x" * 32, made="0", until="10 minutes", **given)


def test_the_database_keeps_codes_for_minutes_alone(stage, cast):
    for until in ("12 minutes", "-1 minute"):
        with (
            stage.as_owner() as owner,
            pytest.raises(errors.CheckViolation, match="enrolment_is_for_minutes"),
        ):
            insert(owner, cast, b"x" * 32, made="0", until=until)


def test_the_office_makes_them_for_others_and_nobody_else_does(api, cast):
    for maker, whose in ((cast.teo, cast.orla), (cast.cleo, cast.teo), (cast.cleo, cast.cleo)):
        with pytest.raises(Forbidden):
            make_code(maker, whose)
    for whose in (cast.otto, cast.cleo):
        with pytest.raises(NotFound):
            make_code(cast.orla, whose)


def test_a_person_makes_it_who_has_just_confirmed(api, cast, settings):
    settings.SECOND_FACTOR = "required"
    with pytest.raises(Forbidden, match="not by a token"):
        make_code(by_token(cast.teo), cast.teo)
    with pytest.raises(ConfirmationNeeded):
        make_code(at_browser(cast.teo, ago=901), cast.teo)  # 15 minutes and a second
    shown = at_browser(cast.teo)
    by_password = replace(shown.presence, second_factor=False)
    with pytest.raises(SecondFactorNeeded):
        make_code(replace(shown, presence=by_password), cast.teo)
    assert seen_by(cast.orla, Enrolment.objects.all()) == []


@pytest.mark.parametrize("whose", ["teo", "orla"])
def test_a_code_does_not_come_back_with_who_left(api, cast, settings, whose):
    """Neither the device's person nor who made the code."""
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    code = make_code(cast.orla, cast.teo)
    again = {"name": whose, "email": f"{whose}@people.example"}
    role = {"teo": "technician", "orla": "office"}[whose]
    office = by_token(cast.orla)
    leave()
    with transaction.atomic():
        permissions.enter(office)
        other = {"name": "Zoe", "email": "zoe@people.example", "role": "office"}
        people.invite(office, other, lambda path: path)
        people.end(office, getattr(cast, whose).id)
        people.invite(office, again | {"role": role}, lambda path: path)
        leave()
    assert Api(getattr(cast, whose)).get("/me").status == 401
    with pytest.raises(NotSignedIn):
        enrol(code)


@pytest.mark.parametrize("what", ["role", "membership", "maker", "makers role", "account"])
def test_a_code_ends_with_what_it_rests_on(api, cast, stage, what):
    code = make_code(cast.orla, cast.teo)
    office = by_token(cast.orla)
    leave()
    with transaction.atomic():
        permissions.enter(office)
        if what == "role":
            people.change_role(office, cast.teo.id, "office")
        elif what == "membership":
            people.end(office, cast.teo.id)
        elif what.startswith("maker"):
            people.invite(office, {"name": "Zoe", "email": "zoe@people.example", "role": "office"},
                          lambda path: path)  # fmt: skip
            if what == "maker":
                people.end(office, cast.orla.id)
            else:
                people.change_role(office, cast.orla.id, "technician")
    gone = without_account(stage, cast.teo) if what == "account" else nullcontext()
    with gone, pytest.raises(NotSignedIn):
        enrol(code)


@contextmanager
def without_account(stage, person):
    """For a while somebody's account is not active; committed."""
    active = "UPDATE records_user SET is_active = %s WHERE id = %s"
    with stage.as_owner() as owner:
        owner.execute(active, [False, person.id])
        try:
            yield
        finally:
            owner.execute(active, [True, person.id])


# -- what is left of it ----------------------------------------------------------------------------


def test_both_steps_are_in_the_audit_without_a_secret(api, cast):
    code = make_code(cast.orla, cast.teo)
    token, secret = enrol(code)
    made, enrolled = seen_by(cast.orla, AuditEntry.objects.order_by("row"))[-2:]
    assert (made.action, made.kind, made.subject) == ("enrolment code made", "person", cast.teo.id)
    assert made.person_id == cast.orla.id
    assert (enrolled.action, enrolled.kind, enrolled.subject) == (
        "device enrolled", "token", token.id,
    )  # fmt: skip
    assert (enrolled.person_id, enrolled.token_id) == (cast.teo.id, token.id)
    assert enrolled.address == "192.0.2.7"
    for entry in (made, enrolled):
        assert code.text[:9] not in str(entry.__dict__)
        assert secret[12:] not in str(entry.__dict__)


def test_what_fails_afterwards_leaves_the_code_good(api, cast, monkeypatch):
    code = make_code(cast.teo, cast.teo)
    with monkeypatch.context() as patch:
        patch.setattr(audit, "write", None)
        with pytest.raises(TypeError):
            enrol(code)
    enrol(code)


def test_the_picture_holds_address_and_code(api, cast):
    code = make_code(cast.teo, cast.teo)
    held = json.loads(enrolments.in_picture(code, "https://book.example/"))
    assert held == {"stationbook": 1, "address": "https://book.example", "code": code.text}


@pytest.mark.commits
def test_the_relay_drops_what_is_over_unread(api, cast, as_owner):
    insert(as_owner, cast, b"a" * 32, made="-2 minutes", until="-1 second")
    insert(as_owner, cast, b"b" * 32, made="-2 minutes", until="5 minutes")
    Relay().forget_what_is_over()
    left = seen_by(cast.orla, Enrolment.objects.values_list("digest", flat=True))
    assert [bytes(each) for each in left] == [b"b" * 32]


# -- many at once, each over a connection of its own -----------------------------------------------

AT_ONCE = 50


def at_once(code, address_of):
    """The statuses of tries over connections of their own that begin at the same moment."""
    barrier = Barrier(AT_ONCE, timeout=60)
    body = json.dumps({"code": code, "name": "tablet"}).encode()

    def run(number):
        try:
            connection.ensure_connection()
            barrier.wait()
            answer = Api(None).raw(
                "POST", "/api/v1/enrolments", body,
                content_type="application/json", REMOTE_ADDR=address_of(number),
            )  # fmt: skip
            return answer.status
        finally:
            connection.close()

    with ThreadPoolExecutor(AT_ONCE) as pool:
        return Counter(pool.map(run, range(AT_ONCE)))


@pytest.mark.commits
@pytest.mark.usefixtures("transactional_db")
def test_of_codes_made_at_once_one_is_good(api, cast):
    codes = together([lambda: make_code(cast.orla, cast.teo)] * 6)
    kept = seen_by(cast.orla, Enrolment.objects.values_list("digest", flat=True))
    assert len(kept) == 1
    assert bytes(kept[0]) in {enrolments.digest_of(code.text) for code in codes}


@pytest.mark.commits
@pytest.mark.usefixtures("transactional_db")
def test_of_fifty_at_once_one_comes_in(api, cast):
    code = make_code(cast.teo, cast.teo).text
    assert at_once(code, lambda number: f"198.51.100.{number}") == {201: 1, 401: AT_ONCE - 1}
    assert len(seen_by(cast.orla, Token.objects.filter(device=True))) == 1


@pytest.mark.commits
@pytest.mark.usefixtures("transactional_db")
def test_of_fifty_at_once_from_one_address_no_more_than_the_limit_are_looked_at(api, cast):
    code = make_code(cast.teo, cast.teo).text
    answered = at_once(code, lambda number: "198.51.100.7")
    assert answered[201] == 1
    # What came in is given back, and may let one more be looked at.
    assert answered[401] in (19, 20)
    assert answered[429] == AT_ONCE - 1 - answered[401]
