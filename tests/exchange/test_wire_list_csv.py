"""The wire list as CSV, as it is downloaded beside a map."""

import csv
import io
import json

from catalogue.core.document import CableName, Core, End, MapDocument, Net, Section
from catalogue.exchange.documents import document_from, schema_text
from catalogue.exchange.wire_list_csv import wire_list_csv


def test_the_example_of_the_schema_as_a_wire_list():
    document = document_from(json.loads(schema_text())["examples"][0])
    assert wire_list_csv(document) == (
        "number,net,role,from,from_contacts,to,to_contacts,section,length_m,core,kind,colour,gauge,bundle\r\n"
        "1,VBUS,power,POD,,TOOL,TOOL:1 TOOL:2,main,3.6,k1,copper,RD,AWG 26,power\r\n"
        "2,VBUS,power,POD,,USB,USB:1,tail,0.4,,,,,\r\n"
        "3,GND,ground,USB,USB:4,TOOL,TOOL:6,tail + main,4,,,,,\r\n"
        "4,D-,pair-,POD,,TOOL,TOOL:3,main,3.6,k2,copper,WHBU,0.08 mm2,\r\n"
        "5,D-,pair-,POD,,USB,USB:2,tail,0.4,,,,,\r\n"
        "6,ID,control,TOOL,TOOL:4,,,,,,,,,\r\n"
        "7,SYNC,through fibre,POD,,TOOL,TOOL:4,main,3.6,k3,fibre,,,\r\n"
        "8,SYNC,through fibre,POD,,USB,USB:3,tail,0.4,,,,,\r\n"
    )


def test_names_that_look_like_formulas_are_kept_from_running():
    document = MapDocument(
        CableName("m", "c"),
        (End("=A", "custom", rows=(("+1",),)), End("B", "custom", rows=(("-1",),))),
        sections=(Section("@s", "=A", "B"),),
        cores=(Core("=k", "@s", bundle="=b", carries="=1+1"),),
        nets=(Net("=1+1", ("=A:+1", "B:-1")),),
    )
    (row,) = csv.DictReader(io.StringIO(wire_list_csv(document)))
    risky = ("net", "from", "from_contacts", "to_contacts", "section", "core", "bundle")
    assert [row[column] for column in risky] == ["'=1+1", "'=A", "'=A:+1", "B:-1", "'@s", "'=k", "'=b"]
