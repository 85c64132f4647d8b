"""The two doors, the API and the pages; and what whoever watches the service looks at."""

from django.urls import include, path

from deploy import watching

urlpatterns = [
    path("livez", watching.livez),
    path("readyz", watching.readyz),
    path("metrics", watching.metrics),
    path("api/v1/", include("records.api.urls")),
    path("", include("records.pages.urls")),
]

handler400 = "records.pages.errors.bad_request"
handler403 = "records.pages.errors.forbidden"
handler404 = "records.pages.errors.not_found"
handler500 = "records.pages.errors.failed"
