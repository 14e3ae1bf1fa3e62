"""A small catalogue to export, import and mirror: cables, maps, reports, a confirmation sent anew, reviews, wishes."""

import io
from dataclasses import replace

from catalogue.core.document import Meter
from catalogue.core.failures import Ending, Failure, FailureKind, Remedy, Symptom
from catalogue.core.reviewing import Kind, Standing
from catalogue.models import (
    Cable,
    Change,
    Confirmation,
    CountedReports,
    EarlierConfirmation,
    FailureReport,
    Feed,
    MapRevision,
    Review,
    Trait,
    User,
    Wanted,
)
from catalogue.usecases import confirmations, failures, maps, people, reviews, wanted
from catalogue.usecases.exports import write_export
from tests.samples import as_json, usb_map

KINDS = (Wanted, Review, EarlierConfirmation, Confirmation, FailureReport, MapRevision, Cable)

BREAK = Failure(
    FailureKind.CORE_OPEN,
    Ending.MENDED,
    symptoms=(Symptom.NO_POWER,),
    words="dead when bent – «quoted» \\u0000",
    section="main",
    at_m=1.0,
    nets=("VBUS",),
    tried=(Remedy.RESOLDERED,),
    note="two\nlines",
    hours=2.0,
    cost=12.5,
    currency="EUR",
)


def person(name):
    return people.contributor(name)[0]


def reviewer():
    people.contributor("wren")
    people.appoint_reviewer("wren")
    return User.objects.get(username="wren")


def submitted(author="mira", **changes):
    return maps.submit_map(person(author), as_json(usb_map(**changes))).map


def decided(row, decision, reason="It is of another cable."):
    kind = Kind.MAP if isinstance(row, MapRevision) else Kind.REPORT
    last = reviews.last_review(type(row).objects.get(pk=row.pk))
    return reviews.decide(reviewer(), kind, row.pk, decision, reason, last.pk if last else 0, "")


def made_catalogue():
    """Two cables with three maps, and everything else that there can be of them; the first cable's first map."""
    first = submitted()
    submitted(marks=[{"kind": "kink", "section": "main", "at_m": 1.0, "note": "Ω"}])
    cable = {"maker": "Tarn & Fell (invented)", "model": "Scale lead SL-1"}
    other = submitted("idris", cable=cable)
    csv = "red,black,mode,value\nHOST:1,PLOTTER:1,ohms,0.7\nHOST:4,PLOTTER:4,beep,yes\n"
    for count in (1, 2):
        read = "".join(csv.splitlines(keepends=True)[: 1 + count])
        confirmations.confirm_with_text(person("petra"), first, read, Meter(lead_ohms=0.3), "Mine reads alike.")
    failures.report_failure(person("petra"), Cable.objects.get(pk=first.cable_id), BREAK)
    elsewhere = replace(BREAK, section="", at_m=None, place="HOST", cost=None, currency="", hours=None)
    report = failures.report_failure(person("mira"), Cable.objects.get(pk=other.cable_id), elsewhere)
    decided(first, Standing.QUERIED, "Was the screen read?")
    decided(first, Standing.APPROVED, "")
    decided(report, Standing.APPROVED, "Seen here too.")
    wanted.ask_for("Ostwick (invented)", "Tray cable 9", "", "192.0.2.1")
    return first


def exported():
    file = io.BytesIO()
    write_export(file)
    return file.getvalue()


def empty_the_site():
    """As if nothing had ever been contributed; accounts stay."""
    Cable.objects.update(latest=None)
    for model in (CountedReports, *KINDS, Trait, Change, Feed):
        model.objects.all().delete()
