"""The page of a cable: what it is, how it fails, where to start on a dead one, and what to take away."""

import csv
import io

import pytest
from django.urls import reverse
from scipy.stats import binomtest

from catalogue.core.failures import Ending
from catalogue.core.problems import DrawingUnavailable
from catalogue.usecases import drawings, maps
from catalogue.views.cable import POINTS_FIRST, ShownChart
from tests.factories import CableFactory, FailureReportFactory
from tests.pages.page import Page
from tests.samples import as_json, usb_map, usb_map_with_reading

pytestmark = pytest.mark.django_db

HYBRID = {
    "format": "corelore.map/1",
    "cable": {"maker": "Halden Works (invented)", "model": "sight lead HL-9", "summary": "Invented example."},
    "ends": [
        {"name": "SCOPE", "connector": "custom", "form": "plug", "rows": [["1", "2", "3"], ["4", "5", "6"]]},
        {"name": "USB", "connector": "usb2-a"},
    ],
    "modules": [{"name": "POD", "holds": "optical"}],
    "sections": [
        {"name": "tail", "from": "USB", "to": "POD", "length_m": 0.4},
        {"name": "main", "from": "POD", "to": "SCOPE", "length_m": 3.6},
    ],
    "cores": [
        {"name": "k1", "section": "main", "colour": ["RD", "BU"], "awg": 26, "net": "VBUS"},
        {"name": "f1", "section": "main", "kind": "fibre", "path": "LANE0"},
    ],
    "nets": [
        {"name": "VBUS", "role": "power", "volts": 5.0, "contacts": ["USB:1", "SCOPE:1", "SCOPE:2"]},
        {"name": "GND", "role": "ground", "contacts": ["USB:4", "SCOPE:4"]},
    ],
    "paths": [{"name": "LANE0", "via": "fibre", "from": "USB:3", "to": "SCOPE:5", "basis": "inferred"}],
}


@pytest.fixture
def usb(mira):
    return maps.submit_map(mira, as_json(usb_map())).map


@pytest.fixture
def hybrid(mira):
    return maps.submit_map(mira, as_json(HYBRID)).map


def page_of(client, row):
    return Page(client.get(reverse("cable", args=[row.cable.slug])))


def section_of(page, heading):
    """The text of the section under a heading."""
    title = next(element for element in page.elements if element.attributes.get("id") == heading)
    return next(above for above in reversed(title.above) if above.tag == "section").text


def test_the_page_says_what_the_cable_is(visitor, hybrid):
    text = section_of(page_of(visitor, hybrid), "what")
    assert "Invented example." in text
    assert "SCOPE: a connector of its own, plug, 6 contacts" in text
    assert "USB: USB 2.0 A, 5 contacts" in text
    assert "POD: electronics for light" in text
    assert "main: POD to SCOPE, 3.6 m" in text


def test_nets_are_told_with_their_contacts_by_end_and_their_cores(visitor, hybrid):
    page = page_of(visitor, hybrid)
    rows = [row.text for row in page.all("tr") if any("nets" in e.attributes.get("class", "") for e in row.above)]
    assert "Net SCOPE USB Cores" in rows
    assert "VBUS supply, 5 V 1 2 1 k1 main, copper, RD red, BU blue, AWG 26" in rows
    assert "GND ground 4 4" in rows
    assert "LANE0 through fibre, inferred USB:3 SCOPE:5 f1 main, fibre" in rows


def test_both_charts_stand_in_the_page_and_name_every_net(visitor, hybrid):
    page = page_of(visitor, hybrid)
    for name in ("Rail chart", "Face chart"):
        chart = page.one("div", aria_label=name)
        assert chart.attributes["tabindex"] == "0"
        drawn = [element for element in page.all("svg") if chart in element.above]
        assert len(drawn) == 1
        assert "VBUS" in chart.text
        assert "GND" in chart.text


@pytest.mark.parametrize(("height", "is_tall"), [(500, False), (900, False), (1000, True), (4000, True)])
def test_a_chart_that_is_higher_than_wide_stands_upright_on_paper(height, is_tall):
    drawn = f'<svg viewBox="0.00 0.00 972.25 {height}.00" width="1296" role="img"><g/></svg>'
    assert ShownChart(drawn, "").is_tall is is_tall
    assert not ShownChart("", "There is no graphviz here.").is_tall


def test_a_chart_keeps_its_size_so_that_its_text_stays_readable(visitor, hybrid):
    page = page_of(visitor, hybrid)
    for name in ("Rail chart", "Face chart"):
        chart = page.one("div", aria_label=name)
        svg = next(element for element in page.all("svg") if chart in element.above)
        _, _, width_pt, height_pt = map(float, svg.attributes["viewbox"].split())
        # A point is 4/3 of the pixel of style sheets (CSS Values and Units Level 3, 5.2).
        assert float(svg.attributes["width"]) == pytest.approx(width_pt * 4 / 3, abs=1)
        assert float(svg.attributes["height"]) == pytest.approx(height_pt * 4 / 3, abs=1)


def test_every_drawn_contact_and_net_has_its_words_for_who_points_at_it(visitor, hybrid):
    page = page_of(visitor, hybrid)
    names = {e.attributes["data-contact"]: e.text for e in page.elements if "data-contact" in e.attributes}
    told = {e.attributes["data-net"]: e.attributes["data-told"] for e in page.elements if "data-net" in e.attributes}
    for name in ("Rail chart", "Face chart"):
        chart = page.one("div", aria_label=name)
        marks = {mark for e in page.all("g") if chart in e.above for mark in e.attributes.get("class", "").split()}
        assert {mark for mark in marks if mark.startswith("contact-")} == set(names)
        assert {mark for mark in marks if mark.startswith("net-")} == set(told)
        for element in (e for e in page.all("g", class_="contact") if chart in e.above):
            (mark,) = (mark for mark in element.attributes["class"].split() if mark.startswith("contact-"))
            assert names[mark].partition(":")[2] == element.text
    assert "VBUS: supply, 5 V. SCOPE 1 2; USB 1. Cores: red (RD) and blue (BU)." in told.values()
    assert "LANE0: through fibre, no conductor. USB:3 to SCOPE:5." in told.values()
    assert "hidden" in page.one("p", id="lit-line").attributes


def test_without_graphviz_the_page_says_so_and_still_tells_everything(visitor, hybrid, monkeypatch):
    def missing(*args, **kwargs):
        raise DrawingUnavailable("Graphviz is not installed on this server.")

    monkeypatch.setattr(drawings, "render", missing)
    answer = visitor.get(reverse("cable", args=[hybrid.cable.slug]))
    page = Page(answer)
    assert answer.status_code == 200
    assert "Graphviz is not installed on this server." in section_of(page, "charts")
    assert "VBUS" in section_of(page, "nets")


def test_the_guide_follows_the_order_of_work_with_cautions_where_they_belong(visitor, hybrid):
    text = section_of(page_of(visitor, hybrid), "start")
    order = [
        "Look it up",
        "Measure, with the jacket still closed",
        "Unplug both ends",
        "Know when to stop",
        "Open at the likeliest place only",
        "Never open a cable that carries mains",
        "never look into a fibre end",
        "Prove it before you power it",
        "One supply contact in the wrong place",
        "Leave a trace",
    ]
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_the_guide_names_what_no_bench_can_mend(visitor, hybrid, usb):
    text = section_of(page_of(visitor, hybrid), "start")
    assert "path LANE0, which goes through fibre" in text
    assert "module POD: electronics for light" in text

    copper = section_of(page_of(visitor, usb), "start")
    assert "copper from end to end" in copper
    assert "fibre" not in copper


def test_fibre_that_nobody_has_traced_is_not_called_copper(visitor, mira):
    loose = usb_map(cores=[{"name": "f1", "section": "main", "kind": "fibre"}])
    text = section_of(page_of(visitor, maps.submit_map(mira, as_json(loose)).map), "start")
    assert "the fibre in this cable" in text
    assert "copper from end to end" not in text
    assert "never look into a fibre end" in text


def test_a_map_that_found_nothing_joined_promises_nothing(visitor, mira):
    silent = {"id": "r1", "mode": "beep", "red": "HOST:1", "black": "PLOTTER:1", "beeps": False}
    bare = {name: usb_map()[name] for name in ("format", "cable", "ends")} | {"readings": [silent]}
    text = section_of(page_of(visitor, maps.submit_map(mira, as_json(bare)).map), "start")
    assert "does not tell what the signals go through" in text
    assert "never look into a fibre end" in text


def test_the_guide_names_the_supplies_to_prove_before_power(visitor, hybrid):
    text = section_of(page_of(visitor, hybrid), "start")
    assert "supply VBUS (5 V), at USB:1 SCOPE:1 SCOPE:2" in text
    assert "ground GND, at USB:4 SCOPE:4" in text


def test_failure_points_are_told_in_a_table_and_drawn_on_a_strip(visitor, hybrid):
    for at_m in (3.1, 3.15, 3.12):
        FailureReportFactory(cable=hybrid.cable, section="main", at_m=at_m)
    FailureReportFactory(cable=hybrid.cable, given_up=True, section="main", at_m=0.2)
    FailureReportFactory(cable=hybrid.cable, kind="contact-worn", section="", at_m=None, place="SCOPE")
    page = page_of(visitor, hybrid)
    rows = [row.text for row in page.all("tr")]
    assert "section main, 3.1 to 3.15 m from POD 3 a core is broken (open) ×3 mended, and works ×3" in rows
    assert "section main, 0.2 m from POD 1 a core is broken (open) given up" in rows
    assert "SCOPE 1 a contact is worn, bent or dirty mended, and works" in rows
    captions = [caption.text for caption in page.all("figcaption")]
    assert captions == [
        "Section tail, from USB to POD: none reported",
        "Section main, from POD to SCOPE: 1 at 0.2 m, 3 at 3.12 m",
    ]
    assert "section main, 3.1 to 3.15 m from POD (3 reports)" in section_of(page, "start")


def test_mending_is_told_with_counts_and_a_95_per_cent_interval(visitor, usb):
    FailureReportFactory.create_batch(3, cable=usb.cable)
    FailureReportFactory(cable=usb.cable, ending=Ending.GIVEN_UP)
    FailureReportFactory(cable=usb.cable, ending=Ending.BUILT, tried=["cable-built"])
    text = section_of(page_of(visitor, usb), "endings").replace("\xa0", " ")
    # Wilson's interval for 3 of 4 and 1 of 1 by scipy.stats.binomtest(…).proportion_ci(method="wilson").
    for succeeded, tried in ((3, 4), (1, 1)):
        bounds = binomtest(succeeded, tried).proportion_ci(method="wilson")
        assert f"{succeeded} of {tried} {100 * bounds.low:.0f} % to {100 * bounds.high:.0f} %" in text
    assert "3 of 4 who tried to mend it succeeded." in text
    assert "Build a whole new cable 1 of 1" in text


def test_what_it_cost_others_is_told_for_each_ending(visitor, usb):
    for hours, cost in ((1, 4), (5, 6.5), (2, None)):
        FailureReportFactory(cable=usb.cable, hours=hours, cost=cost, currency="EUR" if cost else "")
    FailureReportFactory(cable=usb.cable, given_up=True)
    rows = [row.text.replace("\xa0", " ") for row in page_of(visitor, usb).all("tr")]
    assert "Mended, and works 3 2 (1 to 5) h 5.25 (4 to 6.5) EUR" in rows
    assert "Given up 1 not told not told" in rows


def test_of_many_failure_points_the_most_reported_stand_first_and_the_rest_opens(visitor, usb):
    for number in range(POINTS_FIRST + 2):
        FailureReportFactory.create_batch(2 if number == 5 else 1, cable=usb.cable, section="main", at_m=0.2 * number)
    page = page_of(visitor, usb)
    rest = next(each for each in page.all("details") if "2 more failure points" in each.text)
    rows = [row for row in page.all("tr") if "from HOST" in row.text]
    assert rows[0].text.startswith("section main, 1 m from HOST 2")
    assert [rest in row.above for row in rows] == POINTS_FIRST * [False] + 2 * [True]
    assert f"{POINTS_FIRST + 3} reports at {POINTS_FIRST + 2} points" in page.one("figcaption").text


def test_nobody_who_only_gave_up_counts_as_having_tried(visitor, usb):
    FailureReportFactory(cable=usb.cable, given_up=True)
    text = section_of(page_of(visitor, usb), "endings")
    assert "Nobody has told yet how an attempt to mend it ended." in text


def test_small_samples_are_called_small(visitor, usb):
    assert "nothing is known about whether it can be mended" in section_of(page_of(visitor, usb), "endings")

    FailureReportFactory.create_batch(2, cable=usb.cable)
    FailureReportFactory(cable=usb.cable, ending=Ending.NOT_ENDED)
    text = section_of(page_of(visitor, usb), "endings")
    assert "Mended, and works 2" in text
    assert "2 ended stories are too few to say how the next one ends." in text

    FailureReportFactory.create_batch(3, cable=usb.cable, given_up=True)
    text = section_of(page_of(visitor, usb), "endings")
    assert "Given up 3" in text
    assert "too few" not in text


def test_a_report_is_told_in_words(visitor, usb):
    FailureReportFactory(cable=usb.cable, words="Dark at once.", note="Start at the host.", hours=1.5, nets=["VBUS"])
    text = section_of(page_of(visitor, usb), "reports")
    assert "A core is broken (open) in main at 1.2 m, on VBUS. Mended, and works." in text
    assert "Showed as: no power." in text
    assert "Cause: kink. Tried: cut the bad stretch out and joined the rest. 1.5 h of work." in text
    assert "Dark at once." in text
    assert "Start at the host." in text


def test_findings_are_told_in_words_with_links_to_their_rules(visitor, hybrid):
    page = page_of(visitor, hybrid)
    for finding in maps.findings_of(hybrid):
        assert finding.message in section_of(page, "findings")
        assert reverse("rule", args=[finding.code]) in page.links


def test_every_link_of_the_page_leads_somewhere(visitor, hybrid):
    FailureReportFactory(cable=hybrid.cable)
    page = page_of(visitor, hybrid)
    addresses = {link for link in page.links if not link.startswith("#")}
    anchors = {element.attributes["id"] for element in page.elements if "id" in element.attributes}
    assert {link[1:] for link in page.links if link.startswith("#")} <= anchors
    for address in addresses:
        assert visitor.get(address).status_code == 200, address
    for kind in (
        "rail.svg",
        "rail.png",
        "rail.pdf",
        "rail.dot",
        "face.svg",
        "face.png",
        "face.pdf",
        "face.dot",
        "bench-sheet/",
    ):
        assert any(address.endswith(kind) for address in addresses), kind


def test_the_readings_can_be_taken_away_as_a_table(visitor, usb):
    answer = visitor.get(reverse("map-readings", args=[usb.cable.slug, 1]))
    rows = list(csv.DictReader(io.StringIO(answer.content.decode())))
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert [(row["red"], row["black"]) for row in rows] == [
        (reading["red"], reading["black"]) for reading in usb_map()["readings"]
    ]


def test_an_older_revision_stays_readable_and_says_that_it_is_older(visitor, mira, usb):
    more = usb_map_with_reading(id="r6", mode="beep", red="HOST:1", black="PLOTTER:1", beeps=True)
    newer = maps.submit_map(mira, as_json(more)).map
    page = Page(visitor.get(reverse("map", args=[usb.cable.slug, 1])))
    assert "This is map revision 1, which is not the newest." in page.text
    assert reverse("map", args=[usb.cable.slug, 2]) in page.links
    assert "not the newest" not in page_of(visitor, newer).text
    assert "6 readings" in page_of(visitor, newer).text


def test_a_cable_without_a_map_asks_for_one(visitor):
    page = Page(visitor.get(reverse("cable", args=[CableFactory().slug])))
    assert "This cable has no map yet" in page.text


@pytest.mark.parametrize("address", ["/cables/none/", "/cables/none/maps/1/", "/cables/none/maps/1/readings.csv"])
def test_a_cable_that_is_none_is_said_not_to_be(visitor, address):
    answer = visitor.get(address)
    assert answer.status_code == 404
    assert "cable none" in Page(answer).text


def test_the_page_costs_as_many_statements_with_many_reports_as_with_one(visitor, usb, django_assert_num_queries):
    FailureReportFactory(cable=usb.cable)
    address = reverse("cable", args=[usb.cable.slug])
    with django_assert_num_queries(9):
        visitor.get(address)
    FailureReportFactory.create_batch(30, cable=usb.cable)
    with django_assert_num_queries(9):
        page = Page(visitor.get(address))
    assert "These are the newest 20 of 31 reports." in page.text
