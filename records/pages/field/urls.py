"""The paths of the field sheet; all of them lie below /field/, which its worker governs."""

from django.urls import path

from records.pages.field import views

urlpatterns = [
    path("", views.sheet, name="field"),
    path("sw.js", views.service_worker, name="field-service-worker"),
    path("judging.js", views.judging_worker, name="field-worker"),
    path("app.webmanifest", views.manifest, name="field-manifest"),
    path("parts.json", views.listed_parts, name="field-parts"),
    path("description.json", views.description, name="field-description"),
    path("rules-<str:digest>.zip", views.rules, name="field-rules"),
]
