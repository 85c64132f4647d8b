"""Fixtures of the pages' tests: a page as one of the cast sees it, read back."""

import pytest

from tests.records.pages.reading import Page, open_page


@pytest.fixture
def page(api, cast):
    """`page("orla", "/stations/…")`: the page as that person sees it; nobody is None."""

    def opened(name: str | None, path: str) -> Page:
        return open_page(getattr(cast, name) if name else None, path)

    return opened
