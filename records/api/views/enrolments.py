"""Where a device comes in with a code, and gets its token."""

from django.db import transaction
from django.utils.decorators import method_decorator
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from records.addresses import address_of
from records.api import people_documents as told
from records.api.base import BookView
from records.api.schema import CREATE
from records.api.views.people import token_line
from records.services import enrolments, guessing

ABOUT = f"""Enrol a device: give the code that its person sees, get the device's token, once.

Needs no token and no session. The page of a person's tokens, and the office's page of a member,
show a code as text and as a QR code. The QR code holds a JSON object:
`{{"stationbook": {enrolments.FORM}, "address": "https://…", "code": "ABCD-…"}}`. `address` is this
service's, without a path: post to `address` + `/api/v1/enrolments`. Refuse a picture whose
`stationbook` is another number, and an address without `https` that is not the device's own
machine.

A code is good once, and for {enrolments.MINUTES} minutes. Every code that is not good answers 401
alike; an address that gives many of them is told to wait. The token is for {enrolments.DEVICE_DAYS}
days, with the scopes read and write, and sign where its person made the code and wanted that.
"""


@method_decorator(transaction.non_atomic_requests, name="dispatch")
class EnrolmentList(BookView):
    """Devices that come in."""

    authentication_classes = ()
    permission_classes = ()
    makes_its_own_transactions = True  # a guess stays counted, whatever becomes of it
    is_for_nobody_known = True

    @extend_schema(
        operation_id="enrol_device", tags=["people"], description=ABOUT, auth=[],
        request=enrolments.EnrolmentInput, responses={201: told.TokenMade, **CREATE},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Enrol a device."""
        wanted = enrolments.read(self.body())
        address = address_of(request)
        source = guessing.source_of(address)
        guessing.take(guessing.ENROLMENT_BY_ADDRESS, source)
        token, secret = enrolments.enrol(wanted, address)
        guessing.give_back(guessing.ENROLMENT_BY_ADDRESS, source)
        answer = Response({**token_line(token), "token": secret}, status=201)
        answer["Cache-Control"] = "no-store"
        return answer
