"""Mail by way of the queue: nobody waits for it, it is tried again, and in the end it arrives as it was written."""

import logging
from datetime import timedelta
from smtplib import SMTPRecipientsRefused

import pytest
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from catalogue.mail import WAITS
from tests.workers import work

pytestmark = pytest.mark.django_db

ADDRESS = "mira@example.invalid"


@pytest.fixture
def queued(has_queue, settings):
    settings.MAIL_BACKEND = settings.EMAIL_BACKEND
    settings.EMAIL_BACKEND = "catalogue.mail.QueuedMail"


@pytest.fixture
def refused(queued, monkeypatch):
    def refuse(*args):
        raise SMTPRecipientsRefused({ADDRESS: (550, b"no such user")})

    monkeypatch.setattr(EmailBackend, "send_messages", refuse)


def time_passes():
    DBTaskResult.objects.filter(status="READY").update(run_after=timezone.now() - timedelta(seconds=1))


def test_a_mail_is_sent_by_a_worker_as_it_was_written(queued):
    written = mail.EmailMultiAlternatives(
        "Ω", "a\nb", "us@example.invalid", [ADDRESS], ["b@example.invalid"], headers={"X-Kind": "code"}
    )
    written.attach_alternative("<p>a</p>", "text/html")
    assert written.send() == 1
    assert mail.outbox == []
    work()
    (sent,) = mail.outbox
    for name in ("subject", "body", "from_email", "to", "bcc", "extra_headers", "alternatives"):
        assert getattr(sent, name) == getattr(written, name)


def test_a_mail_that_fails_is_tried_again_later_and_given_up_in_the_end(refused, caplog):
    mail.send_mail("Code", "123", None, [ADDRESS])
    with caplog.at_level(logging.DEBUG):
        for wait in WAITS:
            work()
            later = DBTaskResult.objects.get(status="READY")
            assert wait - timedelta(minutes=1) < later.run_after - timezone.now() <= wait
            time_passes()
        work()
    assert DBTaskResult.objects.get(status="FAILED").exception_class_path == "catalogue.mail.MailLost"
    assert not DBTaskResult.objects.filter(status="READY").exists()
    assert ADDRESS not in caplog.text
    assert caplog.text.count("SMTPRecipientsRefused") >= len(WAITS)


def test_a_mail_that_failed_once_arrives(queued, monkeypatch):
    with monkeypatch.context() as broken:
        broken.setattr(EmailBackend, "send_messages", lambda *args: 1 / 0)
        mail.send_mail("Code", "123", None, [ADDRESS])
        work()
    time_passes()
    work()
    assert [sent.to for sent in mail.outbox] == [[ADDRESS]]
