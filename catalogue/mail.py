"""Mail by way of the queue: a request does not wait for a mail server, and a mail is tried again where that fails.

`QueuedMail` is Django's `EMAIL_BACKEND` where there is a queue; workers then send by `MAIL_BACKEND`. A worker that dies
while it sends has its task put back, so that in this rare case a mail can come twice.
"""

import logging
from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage, EmailMultiAlternatives, get_connection
from django.core.mail.backends.base import BaseEmailBackend
from django.utils import timezone
from django_tasks import task

WAITS = tuple(timedelta(minutes=minutes) for minutes in (1, 5, 30))
"""How long it is waited before a mail that could not be sent is tried again."""

logger = logging.getLogger(__name__)


class MailLost(Exception):
    """A mail could not be sent, however often it was tried."""


class QueuedMail(BaseEmailBackend):
    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        for message in email_messages:
            send.enqueue(_told(message))
        return len(email_messages)


@task
def send(told: dict[str, Any], tries: int = 1) -> None:
    """Send a mail now, or put it back for later."""
    message = EmailMultiAlternatives(**told, connection=get_connection(settings.MAIL_BACKEND))
    try:
        message.send()
    # Each way of sending mail has errors of its own, and their texts name whom the mail was to.
    except Exception as error:
        name = type(error).__name__
        if tries > len(WAITS):
            raise MailLost(f"given up after {tries} tries: {name}") from None
        logger.warning("A mail could not be sent and is tried again: %s", name)
        send.using(run_after=timezone.now() + WAITS[tries - 1]).enqueue(told, tries + 1)


def _told(message: EmailMessage) -> dict[str, Any]:
    """A mail as JSON, by the names that its maker takes."""
    assert not message.attachments, "no mail of this site has any"
    return {
        "subject": str(message.subject),
        "body": str(message.body),
        "from_email": message.from_email,
        "to": message.to,
        "cc": message.cc,
        "bcc": message.bcc,
        "reply_to": message.reply_to,
        "headers": message.extra_headers,
        "alternatives": [list(each) for each in getattr(message, "alternatives", ())],
    }
