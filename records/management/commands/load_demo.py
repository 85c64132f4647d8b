"""Loads the invented utilities of fixtures/demo, with people who can sign in and tokens.

Run again it keeps what is there, and gives everybody a new token and a new password: one for
all, since hashing one takes its time on purpose.
"""

import json
import secrets
from argparse import ArgumentParser
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib.auth.hashers import make_password
from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.db import transaction
from django.utils import timezone

from records import permissions
from records.errors import SameIdOtherContent
from records.management.by_operator import owner
from records.models import Clientele, Membership, Organization, Record, Token, User
from records.permissions import Actor
from records.services import (
    attachments,
    events,
    findings,
    register,
    rule_settings,
    sealing,
    signatures,
    tokens,
    traces,
    withdrawals,
)
from records.services.kinds import KINDS

FOLDER = Path(settings.BASE_DIR) / "fixtures" / "demo"
# Pump sets join what must stand in the register before them.
ORDER = ("sites", "pumps", "motors", "drives", "sensors", "vessels", "instruments", "pump-sets")
TOKEN_NAME = "demo"  # noqa: S105  # the token's name
TOKEN_DAYS = 30
SCOPES = {
    "office": ["read", "write", "sign", "manage"],
    "technician": ["read", "write", "sign"],
    "client": ["read"],
}

Document = dict[str, Any]


class Command(BaseCommand):
    """Writes people as the tables' owner, everything else as those people."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        """`--json` takes what a person or a script needs to get in, `--migrate` starts empty."""
        parser.add_argument("--json", type=Path, help="file for people and tokens")
        parser.add_argument("--migrate", action="store_true", help="make the tables first")

    def handle(self, *args: Any, **options: Any) -> None:
        """Load everything, then tell who may come in."""
        book = _read("register.json")
        using = owner()
        if options["migrate"]:
            call_command("migrate", database=using, verbosity=0)
            call_command("register_signing_key", stdout=self.stdout)
        password = secrets.token_urlsafe(12)
        kept = {"password": make_password(password)}
        with transaction.atomic(using=using):
            _write_organizations(book, using)
            people = [_write_person(person, kept, using) for person in book["people"]]
        actors = {person["username"]: person["actor"] for person in people}
        offices = _offices(actors.values())
        _write_register(book, offices)
        _write_rule_settings(book, offices)
        for entry in _read("events/index.json"):
            _carry(entry, actors)
        told = {"tokens": _tokens(people, book), "people": _people(people, book, password)}
        if options["json"]:
            options["json"].write_text(json.dumps(told, indent=2, ensure_ascii=False))
            options["json"].chmod(0o600)
        self.stdout.write(f"{len(people)} people, {len(book['sites'])} stations")


def _read(name: str) -> Any:
    return json.loads((FOLDER / name).read_text(encoding="utf-8"))


def _write_organizations(book: Document, using: str) -> None:
    for organization in book["organizations"]:
        Organization.objects.using(using).get_or_create(
            id=organization["id"], defaults={"name": organization["name"]}
        )
    for site in book["sites"]:
        Clientele.objects.using(using).get_or_create(
            contractor_id=site["contractor"], client_id=site["client"]
        )


def _write_person(person: Document, kept: Document, using: str) -> Document:
    user, _ = User.objects.using(using).update_or_create(
        username=person["username"],
        defaults={
            "full_name": person["full_name"],
            "email": f"{person['username']}@people.example",
            **kept,
        },
    )
    organization = UUID(person["organization"])
    membership, _ = Membership.objects.using(using).get_or_create(
        user=user, organization_id=organization, defaults={"role": person["role"]}
    )
    secret = _write_token(membership, using)
    actor = Actor(
        user.id,
        str(user),
        organization,
        membership.organization.name,
        person["role"],
        tokens.ALL_SCOPES,
    )
    return {**person, "token": secret, "actor": actor}


def _write_token(membership: Membership, using: str) -> str:
    old = Token.objects.using(using).filter(user=membership.user, name=TOKEN_NAME)
    old.filter(revoked_at=None).update(revoked_at=timezone.now())
    _, secret = tokens.keep(
        TOKEN_DAYS,
        using=using,
        name=TOKEN_NAME,
        user=membership.user,
        organization=membership.organization,
        role=membership.role,
        scopes=SCOPES[membership.role],
        created_by=membership.user,
    )
    return secret


def _offices(actors: Iterable[Actor]) -> dict[str, Actor]:
    return {str(a.organization_id): a for a in actors if a.role == permissions.OFFICE}


def _write_register(book: Document, offices: dict[str, Actor]) -> None:
    owners = {site["id"]: site["contractor"] for site in book["sites"]}
    for name in ORDER:
        for document in book[name.replace("-", "_")]:
            owner = document.get("contractor") or document.get("organization")
            office = offices[owner or owners[document["site"]]]
            with transaction.atomic(), suppress(SameIdOtherContent):
                permissions.enter(office)
                register.create(office, KINDS[name], document)


def _write_rule_settings(book: Document, offices: dict[str, Actor]) -> None:
    for document in book["rule_settings"]:
        office = offices[document["contractor"]]
        given = {name: value for name, value in document.items() if name != "contractor"}
        with transaction.atomic(), suppress(SameIdOtherContent):
            permissions.enter(office)
            rule_settings.put(office, given)


def _carry(entry: Document, actors: dict[str, Actor]) -> None:
    """Post an event, and take it as far as the index says; what is there stays."""
    performer, reviewer = actors[entry["performed_by"]], actors[entry["reviewed_by"]]
    with transaction.atomic(), suppress(SameIdOtherContent):
        permissions.enter(performer)
        document = _read(f"events/{entry['file']}") | _correction(entry)
        event, created, _ = events.post(performer, document)
        if not created:
            return
        _keep_files(performer, event, document)
        if entry["carry"] == "withdraw":
            withdrawals.withdraw(performer, event, {"reason": entry["withdrawal"]})
        if entry["carry"] != "seal":
            return
        _answer(performer, event, entry["answers"])
        _sign(performer, event, "performed")
        permissions.enter(reviewer)
        _sign(reviewer, event, "reviewed")
        sealing.seal(reviewer, event)


def _correction(entry: Document) -> Document:
    """The record that an event replaces: its id is known only since it was sealed."""
    if not entry["corrects"]:
        return {}
    return {"corrects": str(Record.objects.get(event__id=entry["corrects"]).id)}


def _keep_files(actor: Actor, event: Any, document: Document) -> None:
    """What was saved on site, under the ids by which the document names it."""
    for trace in document.get("traces", []):
        with (FOLDER / "files" / trace["name"]).open("rb") as lines:
            traces.add_csv(actor, event, {"id": trace["id"], "name": trace["name"]}, lines)
    saved = document.get("settings_file")
    if saved:
        given = {name: saved[name] for name in ("id", "purpose", "name", "sha256")}
        attachments.add(actor, event, given, [(FOLDER / "files" / saved["name"]).read_bytes()])


def _answer(actor: Actor, event: Any, answers: list[Document]) -> None:
    """Answer what is open, one by one: what is accepted lets other rules speak."""
    texts = {answer["rule"]: answer["text"] for answer in answers}
    while finding := next(filter(findings.is_open, findings.present(event)), None):
        findings.answer(actor, event, finding.id, {"text": texts[finding.rule]})


def _sign(actor: Actor, event: Any, meaning: str) -> None:
    wanted = {"meaning": meaning, "digest": signatures.digests(event)[meaning]}
    signatures.sign(actor, event, wanted)


def _tokens(people: list[Document], book: Document) -> dict[str, str]:
    """The first of each role; `other_…` are those of the second utility and its contractor."""
    own = {site["contractor"] for site in book["sites"][:1]} | {book["sites"][0]["client"]}
    told: dict[str, str] = {}
    for person in people:
        other = "" if person["organization"] in own else "other_"
        told.setdefault(f"{other}{person['role']}", person["token"])
    return told


def _people(people: list[Document], book: Document, password: str) -> Document:
    names = {organization["id"]: organization["name"] for organization in book["organizations"]}
    return {
        person["username"]: {
            "name": person["full_name"],
            "role": person["role"],
            "organization": names[person["organization"]],
            "password": password,
        }
        for person in people
    }
