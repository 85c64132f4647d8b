"""Verification tasks, due items, intervals and proposals over the API."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import replace_query_param

from calculations.inputs.reading import Problem
from calculations.tasks.catalogue import BY_ID
from records import cursors, permissions
from records.api import due_answers as told
from records.api.base import (
    PAGING,
    BookView,
    Pages,
    choice_filter,
    day_filter,
    filters,
    id_filter,
    paged,
    settings_asked,
)
from records.api.schema import APPEND, CREATE, READ, page_of
from records.errors import Invalid
from records.ids import identity
from records.selectors import due_documents, due_items, interval_settings, resting
from records.selectors.due_items import Item, Wanted
from records.services import interval_settings as service
from records.services.interval_settings import AcceptanceInput, IntervalSettingInput

TASK = OpenApiParameter("task", str, description="Id of a verification task.")
NARROWER = [
    OpenApiParameter("client", OpenApiTypes.UUID, description="Id of the client."),
    OpenApiParameter("site", OpenApiTypes.UUID, description="Id of the site."),
    OpenApiParameter("piece", OpenApiTypes.UUID, description="Id of a piece or pump set."),
    TASK,
]
DUE = [
    OpenApiParameter(
        "as_of", OpenApiTypes.DATE, description="A day that has come, at the site: as it ended."
    ),
    *NARROWER,
    OpenApiParameter("due_by", OpenApiTypes.DATE, description="Due on this day or before."),
    OpenApiParameter("state", str, enum=due_items.STATES),
    OpenApiParameter("not_possible", bool, description="Whether the last try was not possible."),
]


class VerificationTaskList(BookView):
    """The catalogue of verification tasks."""

    @extend_schema(
        operation_id="list_verification_tasks", tags=["due"],
        responses={200: page_of(told.VerificationTaskAnswer), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Every task, with its default intervals and what performs it."""
        permissions.require(self.actor, "due.read")
        items = [due_documents.task_document(task) for task in BY_ID]
        return Response({"items": items, "next": None})


class DueItemList(BookView):
    """What is due."""

    @extend_schema(
        operation_id="list_due_items", tags=["due"], parameters=[*DUE, *PAGING],
        responses={200: page_of(told.DueItem), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Tasks of pieces in service with their dates, by station, tag and task."""
        return _page(self, _wanted(request), due_documents.document)


class DueCounts(BookView):
    """How much is due."""

    @extend_schema(
        operation_id="count_due_items", tags=["due"], parameters=DUE,
        responses={200: told.DueCounts, **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """How many due items there are of each state."""
        return Response(due_items.counts(self.actor, _wanted(request)))


class PerformedTaskDetail(BookView):
    """One task that a record performed."""

    @extend_schema(
        operation_id="read_performed_task", tags=["due"],
        responses={200: told.PerformedTaskAnswer, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """What was found; where a sensor was outside, the records since that rest on it."""
        return Response(resting.document(self.actor, identity(id)))


class IntervalSettingList(BookView):
    """Intervals that were set."""

    @extend_schema(
        operation_id="list_interval_settings", tags=["due"],
        parameters=[
            NARROWER[0], TASK,
            OpenApiParameter(
                "in_force", bool, description="true: what applies now; false: what has ended."
            ),
            *PAGING,
        ],
        responses={200: page_of(told.IntervalSettingAnswer), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """A page of settings, ended ones too: who set which interval, when and why."""
        rows = settings_asked(request, interval_settings.rows(self.actor), "task")
        return paged(self, rows, interval_settings.document)

    @extend_schema(
        operation_id="set_interval", tags=["due"], request=IntervalSettingInput,
        responses={200: told.IntervalSettingAnswer, 201: told.IntervalSettingAnswer, **CREATE},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Set an interval for a client, its stations of a kind, or one piece, with the reason."""
        row, created = service.put(self.actor, self.body())
        headers = {"Location": f"{request.path}/{row.id}"}
        return _setting(row, created, headers)


class IntervalSettingDetail(BookView):
    """One interval that was set."""

    @extend_schema(
        operation_id="read_interval_setting", tags=["due"],
        responses={200: told.IntervalSettingAnswer, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """The setting, in force or ended."""
        return Response(interval_settings.document(interval_settings.get(self.actor, identity(id))))

    @extend_schema(
        operation_id="remove_interval_setting", tags=["due"], responses={204: None, **READ}
    )
    def delete(self, request: Request, id: str) -> Response:  # noqa: A002
        """End it: what applied without it applies again. The setting stays readable."""
        service.remove(self.actor, identity(id))
        return Response(status=204)


class IntervalProposalList(BookView):
    """Intervals that history proposes."""

    @extend_schema(
        operation_id="list_interval_proposals", tags=["due"], parameters=[*NARROWER, *PAGING],
        responses={200: page_of(told.IntervalProposal), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Other intervals from what was found last, with the arithmetic; none is in force."""
        wanted = replace(_wanted(request), proposed=True)
        return _page(self, wanted, due_documents.proposal_document)


class ProposalAcceptance(BookView):
    """The acceptance of a proposal."""

    @extend_schema(
        operation_id="accept_interval_proposal", tags=["due"], request=AcceptanceInput,
        responses={200: told.IntervalSettingAnswer, 201: told.IntervalSettingAnswer, **APPEND},
    )  # fmt: skip
    def post(self, request: Request, id: str) -> Response:  # noqa: A002
        """Set what is proposed for its piece; again answers with the same setting."""
        row, created = service.accept(self.actor, identity(id), self.body())
        return _setting(row, created, {"Location": f"/api/v1/interval-settings/{row.id}"})


def _setting(row: Any, created: bool, headers: dict[str, str]) -> Response:
    document = interval_settings.document(row)
    return Response(document, status=201 if created else 200, headers=headers)


# -- what is asked ------------------------------------------------------------------------------


def _wanted(request: Request) -> Wanted:
    given = filters(
        request, "as_of", "client", "site", "piece", "task", "due_by", "state", "not_possible"
    )
    values: dict[str, Any] = {}
    for name, text in given.items():
        if name in ("client", "site", "piece"):
            values[name] = id_filter(name, text)
        elif name in ("as_of", "due_by"):
            values[name] = day_filter(name, text)
        elif name == "not_possible":
            values[name] = choice_filter(name, text, ("true", "false")) == "true"
        else:
            words = due_items.STATES if name == "state" else tuple(BY_ID)
            values[name] = choice_filter(name, text, words)
    if "as_of" in values:
        due_items.refuse_day_to_come(values["as_of"])
    return Wanted(**values)


# -- a page -------------------------------------------------------------------------------------


def _page(view: BookView, wanted: Wanted, show: Callable[[Item], dict[str, Any]]) -> Response:
    """One page of due items, with the next one in the body and in Link (RFC 8288)."""
    size, whose = Pages().get_page_size(view.request), _whose(view)
    found = due_items.items(
        view.actor, replace(wanted, after=_after(view.request, whose), limit=size + 1)
    )
    following, headers = None, {}
    if len(found) > size:
        found = found[:size]
        text = cursors.hidden(due_items.written(found[-1]), whose)
        address = view.request.build_absolute_uri()
        following = replace_query_param(address, "cursor", text)
        headers = {"Link": f'<{following}>; rel="next"'}
    return Response({"items": [show(item) for item in found], "next": following}, headers=headers)


def _whose(view: BookView) -> str:
    return f"{view.request.path} {view.actor.organization_id}"


def _after(request: Request, whose: str) -> tuple[int, str, int] | None:
    given = request.query_params.get("cursor")
    if given is None:
        return None
    place = cursors.shown(given, whose)
    if place is None:
        words = "expected the cursor of a page of this list"
        raise Invalid(problems=[Problem("/cursor", "cursor", words)])
    return due_items.place(place)
