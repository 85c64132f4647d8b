"""What each kind of problem document means."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from records.errors import ALL


def problem(request: HttpRequest, code: str) -> HttpResponse:
    """The page that a problem's type resolves to."""
    found = next((error for error in ALL if error.code == code), None)
    if found is None:
        raise Http404
    return render(request, "pages/problem.html", {"problem": found})
