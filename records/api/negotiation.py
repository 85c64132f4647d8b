"""One form of answer per path, whatever is accepted: its name says which."""

from typing import Any

from rest_framework.negotiation import BaseContentNegotiation


class AlwaysJson(BaseContentNegotiation):
    """The first renderer; parsers by media type."""

    def select_parser(self, request: Any, parsers: Any) -> Any:
        """The parser of the body's media type."""
        given = (request.content_type or "").partition(";")[0].strip().lower()
        fitting = (given, "*/*") if given else ("*/*",)
        return next((parser for parser in parsers if parser.media_type in fitting), None)

    def select_renderer(self, request: Any, renderers: Any, format_suffix: Any = None) -> Any:
        """The view's own renderer."""
        return renderers[0], renderers[0].media_type
