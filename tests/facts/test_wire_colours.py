"""Published orders of core colours."""

import pytest

from catalogue.tables import reference

SCHEMES = reference().schemes


def codes(scheme: str) -> list[str]:
    return ["".join(codes) for _, codes, _ in SCHEMES[scheme].entries]


def pairs_of(connector: str) -> dict[str, set[str]]:
    pairs: dict[str, set[str]] = {}
    for contact in reference().connectors[connector].contacts:
        pairs.setdefault(contact.pair, set()).add(contact.contact)
    return {pair: contacts for pair, contacts in pairs.items() if pair}


@pytest.mark.parametrize("scheme", sorted(SCHEMES))
def test_every_colour_of_every_scheme_can_be_drawn(scheme: str) -> None:
    colours = reference().colours
    assert [code for _, found, _ in SCHEMES[scheme].entries for code in found if code not in colours] == []


def test_iec_60757_has_fourteen_colours_and_the_protective_one() -> None:
    """IEC 60757 table 1: BK BN RD OG YE GN BU VT GY WH PK GD TQ SR, and GNYE for the protective conductor."""
    standard = [colour.code for colour in reference().colours.values() if colour.source.startswith("IEC 60757")]
    assert " ".join(standard) == "BK BN RD OG YE GN BU VT GY WH PK GD TQ SR GNYE"


def test_green_and_yellow_shows_both() -> None:
    colours = reference().colours
    assert (colours["GNYE"].hex, colours["GNYE"].hex_second) == (colours["GN"].hex, colours["YE"].hex)


def test_din_47100_has_44_distinct_cores() -> None:
    """DIN 47100: 44 cores before any repeat."""
    assert len(codes("din47100")) == len(set(codes("din47100"))) == 44


def test_din_47100_starts_with_the_ten_single_colours() -> None:
    """DIN 47100, numbers 1 to 10: white brown green yellow grey pink blue red black violet."""
    assert " ".join(codes("din47100")[:10]) == "WH BN GN YE GY PK BU RD BK VT"
    assert all(len(code) == 4 for code in codes("din47100")[10:])


def test_din_47100_number_39_is_grey_red() -> None:
    """One page prints grey-pink, which is number 11 already."""
    assert codes("din47100")[38] == "GYRD"
    assert codes("din47100")[10] == "GYPK"


def test_telecom_pairs_are_five_by_five_colours_and_their_reverse() -> None:
    """25-pair code: white red black yellow violet, each with blue orange green brown slate."""
    expected = []
    for tip in ("WH", "RD", "BK", "YE", "VT"):
        for ring in ("BU", "OG", "GN", "BN", "GY"):
            expected += [tip + ring, ring + tip]
    assert codes("telecom-25-pair") == expected


def test_tia_598_fibres_are_twelve_distinct_colours_with_aqua_last() -> None:
    """TIA-598-C: blue orange green brown slate white red black yellow violet rose aqua."""
    assert " ".join(codes("tia598-fibre")) == "BU OG GN BN GY WH RD BK YE VT PK AQ"


def test_t568a_and_t568b_differ_exactly_in_pairs_2_and_3() -> None:
    """TIA-568: the two orders exchange pairs 2 and 3; pairs 1 and 4 stay."""
    a, b = pairs_of("rj45-t568a"), pairs_of("rj45-t568b")
    assert {pair for pair in a if a[pair] != b[pair]} == {"pair 2", "pair 3"}
    assert (a["pair 2"], a["pair 3"]) == (b["pair 3"], b["pair 2"])


@pytest.mark.parametrize(("scheme", "connector"), [("t568a-pins", "rj45-t568a"), ("t568b-pins", "rj45-t568b")])
def test_colours_by_contact_agree_with_the_pair_table(scheme: str, connector: str) -> None:
    """TIA-568: pair 1 blue, 2 orange, 3 green, 4 brown, in three tables that were published apart."""
    by_pair: dict[str, set[str]] = {}
    for _, found, meaning in SCHEMES["tia568-pairs"].entries:
        by_pair.setdefault(meaning.rsplit(" ", 1)[0], set()).add("".join(found))
    for position, found, meaning in SCHEMES[scheme].entries:
        contact = reference().connectors[connector].by_contact[position]
        assert meaning == f"contact {position}, {contact.pair}"
        assert "".join(found) in by_pair[contact.pair]


def test_usb2_cores_are_named_alike_in_the_connector_table() -> None:
    """USB 2.0 ch. 6: VBUS red, D- white, D+ green, GND black."""
    colours = {meaning: reference().colours[code].name for _, (code,), meaning in SCHEMES["usb2-cores"].entries}
    contacts = reference().connectors["usb2-a"].contacts[:4]
    assert [contact.notes.partition(";")[0] for contact in contacts] == [
        f"core {colours[contact.signal]}" for contact in contacts
    ]
