"""The paths of the pages."""

from django.urls import include, path
from django.views.generic import RedirectView

from records.pages import (
    audit,
    devices,
    event_deeds,
    events,
    health,
    people,
    problems,
    rules,
    sealed_records,
    stations,
    tags,
    tokens,
    verifying,
)
from records.verifier import joined

urlpatterns = [
    path("", stations.stations, name="stations"),
    path("stations", RedirectView.as_view(pattern_name="stations", query_string=True)),
    path("stations/<str:id>", stations.station, name="station"),
    path("stations/<str:id>/tags/<path:tag>", tags.tag, name="tag"),
    path("events/<str:id>", events.event, name="event"),
    path("events/<str:id>/findings/<str:finding>/answer", event_deeds.answer,
         name="answer-finding"),
    path("events/<str:id>/findings/<str:finding>/not-possible", event_deeds.say_not_possible,
         name="not-possible"),
    path("events/<str:id>/sign", event_deeds.sign, name="sign-event"),
    path("events/<str:id>/to-sign/<str:meaning>", event_deeds.text_to_sign, name="text-to-sign"),
    path("events/<str:id>/signatures/<str:signature>/take-back", event_deeds.take_back,
         name="take-back"),
    path("events/<str:id>/seal", event_deeds.seal, name="seal-event"),
    path("events/<str:id>/withdraw", event_deeds.withdraw, name="withdraw-event"),
    path("tokens", tokens.own_tokens, name="tokens"),
    path("tokens/device", devices.own_device, name="enrol-device"),
    path("tokens/<str:id>/revoke", tokens.revoke, name="revoke-token"),
    path("people", people.people, name="people"),
    path("people/<str:id>", people.person, name="person"),
    path("people/<str:id>/role", people.give_role, name="change-member"),
    path("people/<str:id>/end", people.end, name="end-membership"),
    path("people/<str:id>/device", devices.device_of, name="enrol-device-of"),
    path("people/<str:id>/tokens/<str:token>/revoke", people.revoke, name="revoke-token-of"),
    path("records/<str:id>", sealed_records.record, name="record"),
    path("audit", audit.audit, name="audit"),
    path("rules", rules.rules, name="rules"),
    path("", include("records.pages.entrance.urls")),
    path("problems/<slug:code>", problems.problem, name="problem"),
    path("healthz", health.healthz),
    path(joined.NAME, verifying.program, name="verifying-program"),
]  # fmt: skip
