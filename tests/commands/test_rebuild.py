"""`manage.py rebuild`."""

import pytest
from django.core.management import call_command

from catalogue.models import EndRow, MapRevision, User
from catalogue.usecases import maps
from tests.samples import as_json, usb_map

pytestmark = pytest.mark.django_db


def test_what_is_derived_comes_back_and_the_documents_stay(capsys):
    author = User.objects.create_user("mira")
    for model in ("M1", "M2"):
        maps.submit_map(author, as_json(usb_map(cable={"maker": "Invented", "model": model})))
    before = list(MapRevision.objects.order_by("pk").values())
    EndRow.objects.all().delete()
    MapRevision.objects.update(net_count=0, wiring="", findings=[])
    call_command("rebuild")
    assert capsys.readouterr().out == "Maps rebuilt: 2\n"
    assert list(MapRevision.objects.order_by("pk").values()) == before
    assert EndRow.objects.count() == 4
