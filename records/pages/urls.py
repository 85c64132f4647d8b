"""The paths of the pages."""

from django.urls import path

from records.pages import health, problems

urlpatterns = [
    path("healthz", health.healthz),
    path("problems/<slug:code>", problems.problem),
]
