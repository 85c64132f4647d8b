"""The program that checks records offline, for whoever wants it: nothing in it is secret."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from records.verifier import joined


@require_safe
def program(request: HttpRequest) -> HttpResponse:
    """The one file, to be saved."""
    answer = HttpResponse(joined.program(), content_type="text/x-python; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{joined.NAME}"'
    return answer
