"""The paths of the pages."""

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import path
from django.views.generic import RedirectView

from records.pages import audit, events, health, problems, rules, sealed_records, stations, tokens

urlpatterns = [
    path("", stations.stations, name="stations"),
    path("stations", RedirectView.as_view(pattern_name="stations", query_string=True)),
    path("stations/<str:id>", stations.station, name="station"),
    path("events/<str:id>", events.event, name="event"),
    path("tokens", tokens.own_tokens, name="tokens"),
    path("tokens/<str:id>/revoke", tokens.revoke, name="revoke-token"),
    path("records/<str:id>", sealed_records.record, name="record"),
    path("audit", audit.audit, name="audit"),
    path("rules", rules.rules, name="rules"),
    path("sign-in", LoginView.as_view(template_name="pages/sign_in.html"), name="sign-in"),
    path("sign-out", LogoutView.as_view(), name="sign-out"),
    path("problems/<slug:code>", problems.problem, name="problem"),
    path("healthz", health.healthz),
]
