"""Finding a cable: by words, by what it has, page by page, and what the page says when there is nothing."""

import pytest
from django.urls import reverse

from catalogue.core.failures import Ending, Failure, FailureKind, Symptom
from catalogue.usecases import failures, maps
from catalogue.views.browse import ON_A_PAGE
from tests.factories import CableFactory, FailureReportFactory, TraitFactory
from tests.pages.page import Page
from tests.samples import as_json, usb_map

pytestmark = pytest.mark.django_db

STATEMENTS = 5
"""The ids in order, the counts of the facets, the rows with their reports counted, the ends, the traits."""

BROKEN = Failure(
    FailureKind.CORE_OPEN,
    Ending.MENDED,
    symptoms=(Symptom.NO_POWER, Symptom.CUTS_OUT_WHEN_MOVED),
    section="main",
    at_m=1.7,
)


@pytest.fixture
def plotter_lead(mira):
    return maps.submit_map(mira, as_json(usb_map())).map.cable


def found(page):
    return [link.text for link in page.all("a") if link.above[-1].tag == "h2"]


@pytest.mark.parametrize(
    "asked",
    [
        {"q": "plotter"},
        {"q": "orrin pl-2"},
        {"q": "PL-200"},
        {"q": "usb2-b"},
        {"connector": "usb2-a"},
        {"contacts": "5"},
        {"rides_on": "copper"},
        {"maker": "orrin & vale (invented)"},
        {"q": "lead", "connector": "usb2-b", "contacts": "5"},
    ],
)
def test_a_cable_is_found_by_what_is_known_of_it(visitor, plotter_lead, asked):
    CableFactory(mapped=True, maker="Quillon (invented)", model="scale rod 1")
    page = Page(visitor.get(reverse("search"), asked))
    assert found(page) == ["Orrin & Vale (invented) Plotter lead PL-2"]
    assert reverse("cable", args=[plotter_lead.slug]) in page.links


def test_a_row_tells_ends_contacts_what_it_rides_on_and_how_often_it_failed(visitor):
    report = FailureReportFactory()
    FailureReportFactory(cable=report.cable, given_up=True)
    TraitFactory(cable=report.cable, fibre=True)
    row = Page(visitor.get(reverse("search"))).one("li", class_="result").text
    assert "HOST USB 2.0 A PLOTTER USB 2.0 B through fibre" in row
    assert "fibre" in row
    assert "2 failure reports, 1 mended" in row


def test_what_was_asked_stays_in_the_form(visitor, plotter_lead):
    page = Page(visitor.get(reverse("search"), {"q": "plotter", "connector": "usb2-a", "contacts": "5"}))
    assert page.value("q") == "plotter"
    assert page.value("contacts") == "5"
    assert page.one("option", value="usb2-a").attributes.get("selected") == ""
    assert "USB 2.0 A" in page.one("ul", class_="chosen").text


def test_a_number_that_is_none_is_told_at_its_field_and_the_rest_is_searched(visitor, plotter_lead):
    page = Page(visitor.get(reverse("search"), {"q": "plotter", "contacts": "many"}))
    assert "Type a number." in page.one("div", id="id_contacts_error").text
    assert found(page) == ["Orrin & Vale (invented) Plotter lead PL-2"]


def test_a_character_that_no_store_takes_is_told_and_not_searched_for(visitor, plotter_lead):
    page = Page(visitor.get(reverse("search"), {"q": "plot\0ter"}))
    assert "Null characters are not allowed" in page.one("div", id="id_q_error").text


def test_an_empty_result_says_how_to_go_on(visitor, plotter_lead):
    page = Page(visitor.get(reverse("search"), {"q": "no such cable"}))
    assert "No cable here fits all of that" in page.text
    assert page.link("submit what you read") == reverse("submit")


def test_an_empty_site_asks_for_the_first_map(visitor):
    assert "No cable is mapped here yet" in Page(visitor.get(reverse("search"))).text


def test_pages_follow_one_another_without_gap_or_repeat(visitor):
    CableFactory.create_batch(2 * ON_A_PAGE + 3, mapped=True)
    address, seen = reverse("search"), []
    while address:
        page = Page(visitor.get(address))
        seen += found(page)
        following = [link for link in page.all("a") if link.attributes.get("rel") == "next"]
        address = reverse("search") + following[0].attributes["href"] if following else None
    assert len(seen) == len(set(seen)) == 2 * ON_A_PAGE + 3


def test_the_search_is_kept_from_page_to_page(visitor):
    for _ in range(ON_A_PAGE + 1):
        TraitFactory(cable=CableFactory(mapped=True), fibre=True)
    CableFactory(mapped=True)
    first = Page(visitor.get(reverse("search"), {"rides_on": "fibre"}))
    following = first.link("Next →")
    second = Page(visitor.get(reverse("search") + following))
    assert len(found(second)) == 1
    assert second.link("← Previous") == "?rides_on=fibre&page=1"


@pytest.mark.parametrize("page", ["0", "-1", "x", "99999999999999", "²"])
def test_a_page_number_that_is_none_shows_the_first_page(visitor, plotter_lead, page):
    answer = visitor.get(reverse("search"), {"page": page})
    assert found(Page(answer)) == ["Orrin & Vale (invented) Plotter lead PL-2"]


def test_beyond_the_last_page_the_way_back_is_shown(visitor, plotter_lead):
    page = Page(visitor.get(reverse("search"), {"q": "plotter", "page": "7"}))
    assert page.link("Back to the first page") == "?q=plotter"


def test_the_list_costs_as_many_statements_for_twenty_cables_as_for_one(visitor, django_assert_num_queries):
    FailureReportFactory()
    with django_assert_num_queries(STATEMENTS):
        visitor.get(reverse("search"))
    for cable in CableFactory.create_batch(ON_A_PAGE, mapped=True):
        FailureReportFactory(cable=cable)
        TraitFactory(cable=cable)
    with django_assert_num_queries(STATEMENTS):
        visitor.get(reverse("search"))


def test_words_cost_two_statements_more_however_many_there_are(visitor, plotter_lead, django_assert_num_queries):
    for words in ("lead", "plotter lead usb2-a usb2-b vbus"):
        with django_assert_num_queries(STATEMENTS + 2):
            visitor.get(reverse("search"), {"q": words})


def test_nothing_found_costs_no_more_for_many_words_than_for_one(visitor, plotter_lead, django_assert_num_queries):
    for words in ("xyzzyx", "plugh xyzzyx frotz yoho quux corge grault garply waldo fred thud zzyzx"):
        with django_assert_num_queries(5):
            visitor.get(reverse("search"), {"q": words})


def facets(page):
    """The ways to narrow down that are offered: words and count by where they lead."""
    return {
        link.attributes["href"]: link.above[-1].text
        for link in page.all("a")
        if any(element.attributes.get("id") == "narrow" for element in link.above)
    }


def test_each_value_is_offered_with_how_many_cables_it_leads_to(visitor, mira, plotter_lead):
    maps.submit_map(mira, as_json(usb_map(cable={"maker": "Quillon (invented)", "model": "Scale lead"})))
    sight = {
        "format": "corelore.map/1",
        "cable": {"maker": "Ostwick (invented)", "model": "Sight lead"},
        "ends": [{"name": "HEAD", "connector": "custom", "rows": [["1", "2", "3"]]}],
        "paths": [{"name": "LANE", "via": "fibre", "from": "HEAD:1", "to": "HEAD:2", "basis": "documented"}],
        "readings": [{"id": "r1", "mode": "beep", "red": "HEAD:1", "black": "HEAD:2", "beeps": False}],
    }
    assert maps.submit_map(mira, as_json(sight)).map
    failures.report_failure(mira, plotter_lead, BROKEN)
    page = Page(visitor.get(reverse("search"), {"q": "lead"}))
    offered = facets(page)
    assert offered["?q=lead&connector=usb2-a"] == "USB 2.0 A 2"
    assert offered["?q=lead&contacts=5"] == "5 contacts 2"
    assert offered["?q=lead&rides_on=copper"] == "copper 2"
    assert offered["?q=lead&maker=Quillon+%28invented%29"] == "Quillon (invented) 1"
    assert offered["?q=lead&symptom=no-power"] == "no power 1"
    assert offered["?q=lead&place=connector"] == "at a connector, or close to it 1"
    assert offered["?q=lead&ending=mended"] == "mended, and works 1"
    for query, text in offered.items():
        narrowed = Page(visitor.get(reverse("search") + query))
        assert len(found(narrowed)) == int(text.split()[-1]), query


def test_what_all_have_is_not_offered_to_narrow_down_by(visitor, mira, plotter_lead):
    maps.submit_map(mira, as_json(usb_map(cable={"maker": "Quillon (invented)", "model": "Scale lead"})))
    offered = facets(Page(visitor.get(reverse("search"))))
    assert set(offered) == {"?maker=Orrin+%26+Vale+%28invented%29", "?maker=Quillon+%28invented%29"}


def test_what_the_search_is_narrowed_down_by_can_be_dropped(visitor, plotter_lead):
    asked = {"q": "lead", "connector": "usb2-a", "maker": "orrin & vale (invented)"}
    page = Page(visitor.get(reverse("search"), asked))
    chosen = page.one("ul", class_="chosen")
    assert "Connector: USB 2.0 A" in chosen.text
    dropped = [link.attributes["href"] for link in page.all("a") if chosen in link.above]
    assert dropped == ["?q=lead&maker=orrin+%26+vale+%28invented%29", "?q=lead&connector=usb2-a"]
    assert not any("connector=usb2-b" in query for query in facets(page))


@pytest.mark.parametrize("words", ["no power", "lead dead", "works when bent", "plotter does not turn on"])
def test_everyday_words_for_a_symptom_lead_to_cables_reported_with_it(visitor, mira, plotter_lead, words):
    maps.submit_map(mira, as_json(usb_map(cable={"maker": "Quillon (invented)", "model": "Plotter lead"})))
    assert found(Page(visitor.get(reverse("search"), {"q": words}))) == []
    failures.report_failure(mira, plotter_lead, BROKEN)
    page = Page(visitor.get(reverse("search"), {"q": words}))
    assert found(page) == ["Orrin & Vale (invented) Plotter lead PL-2"]
    assert "finds cables reported with the symptom" in page.one("p", class_="taken-for").text


def test_a_slip_of_typing_is_mended_and_told(visitor, plotter_lead):
    page = Page(visitor.get(reverse("search"), {"q": "ploter leadd"}))
    assert found(page) == ["Orrin & Vale (invented) Plotter lead PL-2"]
    assert "No cable has “leadd”, “ploter”. Searched for lead, plotter in place of it." in page.text
    assert page.value("q") == "ploter leadd"


def test_a_model_name_is_never_taken_for_another(visitor, plotter_lead):
    page = Page(visitor.get(reverse("search"), {"q": "PL-201"}))
    assert found(page) == []
    assert not page.all("section", aria_labelledby="nearest")


def test_a_cable_named_so_comes_before_one_that_only_mentions_it(visitor, mira, plotter_lead):
    mentions = usb_map(cable={"maker": "Quillon (invented)", "model": "Scale rod", "summary": "Like the plotter lead."})
    maps.submit_map(mira, as_json(mentions))
    assert found(Page(visitor.get(reverse("search"), {"q": "plotter lead"}))) == [
        "Orrin & Vale (invented) Plotter lead PL-2",
        "Quillon (invented) Scale rod",
    ]


def test_a_cable_that_is_mapped_comes_before_one_that_is_not(visitor, plotter_lead):
    unmapped = CableFactory()
    for asked in ({}, {"q": "invented"}):
        *mapped, last = found(Page(visitor.get(reverse("search"), asked)))
        assert mapped == ["Orrin & Vale (invented) Plotter lead PL-2"]
        assert last == f"{unmapped.maker} {unmapped.model}"


def test_what_lacks_one_word_is_shown_where_nothing_has_all(visitor, plotter_lead):
    page = Page(visitor.get(reverse("search"), {"q": "plotter xyzzyx", "connector": "usb2-a"}))
    assert "Orrin & Vale (invented) Plotter lead PL-2" in page.one("section", aria_labelledby="nearest").text


def test_a_cable_that_is_not_there_can_be_asked_for_at_once(visitor, plotter_lead):
    page = Page(visitor.get(reverse("search"), {"q": "Scale rod 7"}))
    assert page.value("model") == "Scale rod 7"
    assert page.link("Find it by a few readings") == reverse("which-cable")
    assert page.one("form", action=reverse("wanted") + "#result").attributes["method"] == "post"


def test_more_than_can_be_ranked_is_said(visitor, monkeypatch):
    monkeypatch.setattr("catalogue.search.cables.MOST_RANKED", 3)
    CableFactory.create_batch(4, mapped=True)
    page = Page(visitor.get(reverse("search")))
    assert "More than 3 cables" in page.text
    assert len(found(page)) == 3


@pytest.mark.parametrize("field", ["connector", "symptom", "place", "ending", "rides_on"])
def test_a_value_that_is_none_is_told_at_its_field(visitor, plotter_lead, field):
    page = Page(visitor.get(reverse("search"), {field: "'; DROP TABLE x"}))
    assert "not one of the available choices" in page.one("div", id=f"id_{field}_error").text
    assert len(found(page)) == 1
