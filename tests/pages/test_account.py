"""Signing in and out, and how one gets an account here."""

import pytest
from django.urls import reverse

from tests.factories import PASSWORD
from tests.pages.page import Page

pytestmark = pytest.mark.django_db


def test_a_person_signs_in_and_out_again(visitor, mira):
    answer = visitor.post(reverse("sign-in"), {"username": "mira", "password": PASSWORD})
    assert (answer.status_code, answer["Location"]) == (302, reverse("start"))
    assert "Sign out mira" in Page(visitor.get("/")).one("header", class_="top").text

    visitor.post(reverse("sign-out"))
    assert Page(visitor.get("/")).link("Sign in") == reverse("sign-in")


def test_a_wrong_password_is_said_so_and_the_name_stays(visitor, mira):
    page = Page(visitor.post(reverse("sign-in"), {"username": "mira", "password": "not that"}))
    assert "correct username and password" in page.one("div", class_="errors").text
    assert page.value("username") == "mira"
    assert page.value("password") == ""


def test_somebody_without_an_account_is_told_how_to_get_one(visitor):
    text = Page(visitor.get(reverse("sign-in"))).text
    assert "Accounts on this site are made by the people who run it" in text
    assert "manage.py token NAME" in text
    assert "manage.py changepassword NAME" in text


def test_signing_in_leads_back_to_where_one_was_but_never_to_another_site(visitor, mira):
    who = {"username": "mira", "password": PASSWORD}
    answer = visitor.post(reverse("sign-in"), {**who, "next": reverse("submit")})
    assert answer["Location"] == reverse("submit")

    visitor.post(reverse("sign-out"))
    answer = visitor.post(reverse("sign-in"), {**who, "next": "https://elsewhere.invalid/"})
    assert answer["Location"] == reverse("start")
