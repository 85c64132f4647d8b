"""The two doors: the API and the pages."""

from django.urls import include, path

urlpatterns = [
    path("api/v1/", include("records.api.urls")),
    path("", include("records.pages.urls")),
]
