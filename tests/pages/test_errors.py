"""When something goes wrong before a page is reached: what happened, that nothing is lost, and what to do."""

import pytest
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.test import Client, override_settings
from django.urls import path

from catalogue.urls import handler400, handler404, urlpatterns
from tests.pages.page import Page
from tests.pages.policy import breaches
from tests.samples import as_json, usb_map

__all__ = ["handler400", "handler404"]


def broken(request) -> HttpResponse:
    raise RuntimeError("a mistake of ours")


def forbidden(request) -> HttpResponse:
    raise PermissionDenied


urlpatterns = [*urlpatterns, path("broken/", broken), path("forbidden/", forbidden)]


def test_an_address_that_leads_nowhere_shows_the_ways_on(client):
    answer = client.get("/no/such/page/")
    page = Page(answer)
    assert answer.status_code == 404
    assert "There is no such page here" in page.text
    assert "nothing is lost" in page.text
    assert page.link("Find a cable")


@override_settings(ROOT_URLCONF=__name__)
def test_a_mistake_of_ours_is_called_ours(caplog):
    client = Client(raise_request_exception=False)
    answer = client.get("/broken/")
    assert answer.status_code == 500
    assert "It is our mistake, not yours." in Page(answer).text


@override_settings(ROOT_URLCONF=__name__)
def test_a_page_for_somebody_else_says_so(client):
    answer = client.get("/forbidden/")
    assert answer.status_code == 403
    assert "This is not open to you" in Page(answer).text


def test_a_form_sent_from_an_old_page_gives_back_what_was_written():
    text = as_json(usb_map()).decode()
    client = Client(enforce_csrf_checks=True)
    answer = client.post("/submit/", {"way": "document", "act": "submit", "text": text})
    page = Page(answer)
    assert answer.status_code == 403
    assert "Please send it again" in page.text
    assert page.one("textarea", id="written-text").raw_text == text


def test_a_password_is_never_given_back():
    client = Client(enforce_csrf_checks=True)
    answer = client.post("/account/sign-in/", {"login": "mira", "password": "secret-of-mira"})
    assert answer.status_code == 403
    assert "secret-of-mira" not in answer.content.decode()


@pytest.mark.django_db
def test_what_is_far_too_large_is_called_too_large(settings):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 1000
    answer = Client().post("/submit/", {"way": "document", "act": "check", "text": "x" * 1001})
    assert answer.status_code == 413
    assert "That was too large" in Page(answer).text


def test_a_request_that_makes_no_sense_is_told_so(settings):
    settings.ALLOWED_HOSTS = ["corelore.invalid"]
    answer = Client().get("/", headers={"host": "elsewhere.invalid"})
    assert answer.status_code == 400
    assert "could not be understood" in Page(answer).text


@override_settings(ROOT_URLCONF=__name__, ALLOWED_HOSTS=["testserver"])
def test_an_answer_that_says_no_is_as_strict_as_any_page(caplog):
    client = Client(raise_request_exception=False, enforce_csrf_checks=True)
    answers = (
        client.get("/", headers={"host": "elsewhere.invalid"}),
        client.get("/forbidden/"),
        client.post("/submit/"),
        client.get("/no/such/page/"),
        client.get("/broken/"),
    )
    assert [answer.status_code for answer in answers] == [400, 403, 403, 404, 500]
    assert [breaches(answer) for answer in answers] == [[]] * len(answers)
