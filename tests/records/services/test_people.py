"""Who belongs to an organization: invited, given a role, let go; and how the first comes in."""

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from django.core import mail
from django.db import Error, connection, transaction

from records import permissions
from records.errors import Conflict, Forbidden, Invalid, NotFound
from records.models import AuditEntry, Membership, User
from records.services import people, tokens
from tests.records.client import Api, leave
from tests.records.pages.entrance.walking import Walker, give_quick_password

WANTED = {"name": "Nilo Ferran", "email": "Nilo@people.example", "role": "technician"}
NEW = {"password1": "seven grey herons", "password2": "seven grey herons"}


def absolute(path):
    return f"https://book.example{path}"


class Office:
    """Does something as one of the cast, in the place that a request would take."""

    def __init__(self, person):
        leave()
        self.actor = tokens.actor_of(person.secret)

    def __getattr__(self, name):
        def call(*given):
            leave()
            permissions.enter(self.actor)
            try:
                with transaction.atomic():
                    return getattr(people, name)(self.actor, *given)
            finally:
                leave()

        return call

    def invite(self, **given):
        return self.__getattr__("invite")(WANTED | given, absolute)


@pytest.fixture
def office(api, cast, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    mail.outbox = []
    give_quick_password(cast.teo)
    return Office(cast.orla)


def path_of(invitation):
    return invitation.link.removeprefix("https://book.example")


def choose(link):
    """Open a link and choose a password; answers whether that went well."""
    browser = Walker()
    browser.get(link)
    if browser.answer.status_code != 302:
        return False
    browser.post(browser.at, **NEW)
    return browser.at == "/password/chosen"


def test_an_invited_person_chooses_a_password_and_is_in(office, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        invitation = office.invite()
    in_a_week = datetime.now(UTC) + timedelta(days=7)
    assert abs(invitation.expires_at - in_a_week) < timedelta(minutes=1)
    [sent] = mail.outbox
    assert sent.to == ["nilo@people.example"]
    assert invitation.link in sent.body
    assert "Orla of Halvorn Pump Works invites you" in sent.body
    assert choose(path_of(invitation))
    browser = Walker()
    browser.sign_in("nilo@people.example", NEW["password1"])
    assert "Nilo Ferran, Halvorn Pump Works (technician)" in browser.get("/").words
    assert not choose(path_of(invitation))  # once


def test_whatever_becomes_of_the_mail_the_link_is_answered(
    office, monkeypatch, django_capture_on_commit_callbacks
):
    def broken(*_):
        raise RuntimeError("no such template")

    with monkeypatch.context() as patched, django_capture_on_commit_callbacks(execute=True) as sent:
        patched.setattr(people.mails, "send", broken)
        invitation = office.invite()
    assert len(sent) == 1
    assert choose(path_of(invitation))


def test_before_a_password_is_chosen_nobody_comes_in(office):
    office.invite()
    for password in ("", "!", "seven grey herons"):
        assert Walker().sign_in("nilo@people.example", password).status == 200


def test_an_invited_person_has_no_powers_and_is_written_down(office, cast):
    invitation = office.invite()
    user = User.objects.get(id=invitation.user_id)
    assert (user.is_superuser, user.is_staff, user.is_active) == (False, False, True)
    assert not user.has_usable_password()
    permissions.enter(office.actor)
    entry = AuditEntry.objects.order_by("-row").first()
    assert (entry.action, entry.kind, entry.subject) == ("person invited", "person", user.id)
    assert entry.person_id == cast.orla.id
    assert invitation.link.rpartition("-")[2] not in str(entry.__dict__)


def test_the_link_ends_after_a_week(office, monkeypatch):
    from django.contrib.auth.tokens import PasswordResetTokenGenerator as Generator

    link = path_of(office.invite())
    now = Generator()._now()
    for days, status in ((6.99, 302), (7.01, 404)):
        monkeypatch.setattr(Generator, "_now", lambda self, d=days: now + timedelta(days=d))
        assert Walker().get(link).status == status


def test_inviting_again_ends_the_former_link(office):
    first = office.invite()
    second = office.invite(role="office")
    assert second.user_id == first.user_id
    assert not choose(path_of(first))
    assert choose(path_of(second))
    leave()
    permissions.enter(office.actor)
    assert Membership.objects.get(user_id=first.user_id).role == "office"
    with pytest.raises(Conflict, match="belongs to your organization already"):
        office.invite()


def test_nobody_gets_a_link_to_anothers_account(office, cast):
    """Who signs in with this address elsewhere would otherwise be let in to by a stranger."""
    before = User.objects.get(pk=cast.otto.id).password
    for email in ("otto@people.example", "OTTO@people.example", "cleo@people.example"):
        with pytest.raises(Conflict, match="somebody else signs in with this address"):
            office.invite(email=email)
    leave()
    assert User.objects.get(pk=cast.otto.id).password == before


def test_a_name_that_is_an_address_of_somebody_is_taken(office, stage, cast):
    office.invite(email="zoe@people.example")
    with pytest.raises(Conflict):
        Office(cast.otto).invite(email="ZOE@people.example")


def test_who_left_is_let_in_again_without_a_link(office, cast, django_capture_on_commit_callbacks):
    office.end(cast.teo.id)
    assert Api(cast.teo).get("/me").status == 401
    with django_capture_on_commit_callbacks(execute=True):
        invitation = office.invite(email="teo@people.example", name="Teo")
    assert (invitation.link, invitation.user_id) == (None, cast.teo.id)
    assert "again" in mail.outbox[-1].subject
    assert "http" not in mail.outbox[-1].body
    browser = Walker()
    browser.sign_in("teo")
    assert browser.get("/").status == 200


def test_what_spoke_for_who_left_does_not_come_back_with_them(office, cast):
    """A device may have been lost meanwhile, and nobody could revoke what was refused already."""
    browser = Walker.of(cast.teo)
    browser.post("/calendars", name="the phone")
    [secret] = re.findall(r"/calendar/(stc_[\w-]+)\.ics", browser.answer.content.decode())
    calendar = f"/calendar/{secret}.ics"
    assert Walker().get(calendar).status == 200
    office.end(cast.teo.id)
    office.invite(email="teo@people.example", name="Teo")
    assert Api(cast.teo).get("/me").status == 401
    assert Walker().get(calendar).status == 404
    permissions.enter(office.actor)
    told = AuditEntry.objects.filter(action__in=("token revoked", "calendar revoked"))
    assert {each.person_id for each in told} == {cast.orla.id}
    assert {each.action for each in told} == {"token revoked", "calendar revoked"}


def test_a_session_of_who_left_does_not_come_back_with_them(office, cast):
    """A browser may have been left signed in somewhere; the next sign-in counts."""
    former, other = Walker(), Walker.of(cast.tilda)
    former.sign_in("teo")
    assert former.get("/").status == 200
    office.end(cast.teo.id)
    office.invite(email="teo@people.example", name="Teo")
    former.get("/")
    assert former.at == "/sign-in?next=/"
    assert former.get("/api/v1/me").status == 401
    assert other.get("/api/v1/me").status == 200
    anew = Walker()
    anew.sign_in("teo")
    assert anew.get("/").status == 200
    assert former.get("/api/v1/me").status == 401


def test_an_office_ends_sessions_of_its_own_people_alone(office, cast):
    own, foreign = Walker.of(cast.teo), Walker.of(cast.tilda)
    for person in (cast.teo, cast.tilda):
        leave()
        permissions.enter(office.actor)
        with connection.cursor() as cursor:
            cursor.execute("SELECT end_sessions_of(%s)", [person.id])
    assert own.get("/api/v1/me").status == 401
    assert foreign.get("/api/v1/me").status == 200


def test_who_is_let_go_is_refused_at_once_and_leaves_the_list(office, cast, orla):
    browser = Walker()
    browser.sign_in("teo")
    assert browser.get("/").status == 200
    office.end(cast.teo.id)
    browser.get("/")
    assert browser.at == "/sign-in?next=/"
    browser.sign_in("teo")
    assert "You belong to no organization" in browser.get("/").words
    assert Api(cast.teo).get("/me").status == 401
    assert "Teo" not in [each["name"] for each in orla.get("/members").json["items"]]
    made = orla.post("/tokens", {"name": "x", "user": str(cast.teo.id)})
    assert made.status == 400
    with pytest.raises(NotFound):
        office.end(cast.teo.id)


def test_another_role_ends_the_tokens_of_the_former(office, cast):
    office.change_role(cast.teo.id, "office")
    assert Api(cast.teo).get("/me").status == 401
    browser = Walker()
    browser.sign_in("teo")
    browser.get("/")
    assert browser.at.startswith("/second-factor")  # of the office, it is needed
    office.change_role(cast.teo.id, "technician")
    assert Api(cast.teo).get("/me").status == 200


def test_the_last_of_the_office_stays(office, cast):
    for change in (lambda: office.end(cast.orla.id),
                   lambda: office.change_role(cast.orla.id, "technician")):  # fmt: skip
        with pytest.raises(Conflict, match="last person of the office"):
            change()
    office.change_role(cast.teo.id, "office")
    office.end(cast.orla.id)
    assert Api(cast.orla).get("/me").status == 401


@pytest.mark.parametrize("by", ["end", "change_role"])
def test_who_lost_the_office_a_moment_ago_lets_nobody_go(office, cast, by):
    """As where they waited meanwhile for the members' rows."""
    other = office.invite().user_id
    teo = Office(cast.teo)
    office.change_role(cast.teo.id, "office")
    teo.actor = replace(teo.actor, role="office")
    office.end(cast.teo.id) if by == "end" else office.change_role(cast.teo.id, "technician")
    for deed in (lambda: teo.end(other), lambda: teo.change_role(other, "office")):
        with pytest.raises(Forbidden, match="a moment ago"):
            deed()
    permissions.enter(office.actor)
    held = Membership.objects.get(user_id=other)
    assert (held.ended_at, held.role) == (None, "technician")


def test_the_office_alone_and_of_its_own_organization_alone(office, cast):
    for person in (cast.teo, cast.cleo):
        with pytest.raises(Forbidden):
            Office(person).invite()
        with pytest.raises(Forbidden):
            Office(person).end(cast.orla.id)
    for other in (cast.otto, cast.cleo):
        with pytest.raises(NotFound):
            office.end(other.id)
        with pytest.raises(NotFound):
            office.change_role(other.id, "office")


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        ({"name": " "}, "/name"),
        ({"email": "nobody"}, "/email"),
        ({"email": "a@b@people.example"}, "/email"),
        ({"email": "x" * 150 + "@people.example"}, "/email"),
        ({"email": "nilo@people.example\nBcc: x@people.example"}, "/email"),
        ({"role": "client"}, "/role"),
        ({"role": "owner"}, "/role"),
    ],
)
def test_a_bad_wish_names_its_field(office, given, pointer):
    with pytest.raises(Invalid) as refused:
        office.invite(**given)
    assert [each.pointer for each in refused.value.problems] == [pointer]
    assert mail.outbox == []


@pytest.mark.parametrize(
    "call",
    [
        "add_person('{id}', 'eve', 'Eve', 'eve@people.example', 'pbkdf2_sha256$1$x$y')",
        "invite_again('{otto}', 'pbkdf2_sha256$1$x$y')",
    ],
)
def test_the_database_takes_no_password_from_an_office(office, cast, call):
    permissions.enter(office.actor)
    statement = "SELECT " + call.format(id="0" * 32, otto=cast.otto.id)
    with pytest.raises(Error, match=r"without a password|holds no password"), transaction.atomic():
        connection.cursor().execute(statement)


def test_the_database_renews_no_invitation_of_another_organization(office, cast):
    theirs = Office(cast.otto).invite(email="zoe@people.example")
    leave()
    permissions.enter(office.actor)
    with connection.cursor() as cursor:
        cursor.execute("SELECT invite_again(%s, '!x')", [theirs.user_id])
        assert cursor.fetchone() == (False,)
        cursor.execute("SELECT invite_again(%s, '!x')", [cast.teo.id])  # has a password
        assert cursor.fetchone() == (False,)
    leave()
    assert choose(path_of(theirs))


FIRST = {
    "--name": "Ada", "--role": "office", "--new-organization": "Pale Reach Pumps",
    "--address": "https://book.example/", "--by": "Ines of the service",
    "--reason": "their order of 3 March",
}  # fmt: skip


def invite_first(stage, email="ada@people.example", **changed):
    """The operator's command; an option that is None is left out."""
    options = FIRST | {f"--{name.replace('_', '-')}": given for name, given in changed.items()}
    words = [word for each in options.items() if each[1] is not None for word in each]
    return stage.command("invite_person", email, *words)


@pytest.mark.commits
def test_an_installation_begins_with_a_command(as_owner, settings, stage):
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    status, said = invite_first(stage)
    assert status == 0, said
    [link] = re.findall(r"https://book\.example(/password/choose/\S+)", said)
    assert choose(link)
    browser = Walker()
    browser.sign_in("ada@people.example", NEW["password1"])
    assert browser.at == "/"
    entries = as_owner.execute("SELECT person_name, action, after, reason FROM records_auditentry")
    assert entries.fetchall() == [
        ("Ines of the service", "person invited", {"role": "office"}, "their order of 3 March")
    ]


NOBODYS = "00000000-0000-4000-8000-000000000000"


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"new_organization": None, "organization": NOBODYS}, "no organization of this id"),
        ({"new_organization": None, "organization": "nope"}, "--organization: invalid UUID"),
        ({"new_organization": " "}, "--new-organization: expected words"),
        ({"email": "nope"}, "/email: expected an e-mail address"),
        ({"email": "orla@people.example"}, "/email: somebody else signs in with this address"),
        ({"name": " "}, "/name: expected text"),
        ({"address": "book.example"}, "--address: expected https://"),
        ({"by": None}, "--by"),
        ({"reason": " "}, "--reason: expected words"),
    ],
    ids=str,
)
def test_the_command_says_what_is_wrong_and_leaves_no_organization(stage, cast, given, words):
    status, said = invite_first(stage, **given)
    assert status != 0
    assert words in said
    with stage.as_owner() as owner:
        rows = owner.execute("SELECT count(*) FROM records_organization").fetchall()
    assert rows == [(4,)]  # those of the cast
