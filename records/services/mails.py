"""Mails of the book: plain text, from templates in pairs of subject and message."""

import logging
from collections.abc import Mapping
from smtplib import SMTPException
from typing import Any

from django.core.mail import EmailMessage
from django.template.loader import render_to_string

log = logging.getLogger(__name__)


def send(template: str, address: str, told: Mapping[str, Any]) -> None:
    """Send one mail; where that is not possible it is written down and changes nothing else.

    Who asks for a mail must not learn from an error whether there is anybody to be mailed to.
    """
    subject = " ".join(render_to_string(f"{template}_subject.txt", dict(told)).split())
    message = render_to_string(f"{template}_message.txt", dict(told)).strip() + "\n"
    try:
        EmailMessage(subject, message, to=[address]).send()
    except (OSError, SMTPException, ValueError) as error:  # the last: of an address that is none
        log.warning("a mail was not sent: %s", type(error).__name__)
