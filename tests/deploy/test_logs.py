"""Links that let in are cut short in every line of the log."""

import logging
from logging.config import dictConfig

from django.conf import settings

LINK = "/password/choose/01a214fcf88275728ad235bb8b0ae760-dimgpa-a84d3b45aa8a2df9ac8e8d08577eda20"


def test_the_log_of_a_request_names_the_page_and_not_the_link(capsys):
    root, level = logging.getLogger(), logging.getLogger().level
    before = list(root.handlers)
    dictConfig(settings.LOGGING)
    try:
        log = logging.getLogger("django.request")
        log.warning("%s: %s", "Too Many Requests", LINK)
        log.error(f"Internal Server Error: {LINK}")
        log.error("Not Found: %s", "/password/forgotten")
        said = capsys.readouterr().err
    finally:
        root.handlers, root.level = before, level
    assert "dimgpa" not in said
    assert "a84d3b45" not in said
    assert said.count("/password/choose/01a214fcf88275728ad235bb8b0ae760-…") == 2
    assert "Not Found: /password/forgotten" in said
