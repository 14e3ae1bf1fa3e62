"""The API held against its own document by requests made up from it: each operation alone, and in chains by links.

No answer may be an error of the site, and none may be other than the document says.
"""

import copy
from collections import Counter

import pytest
import schemathesis
from django.core.signals import request_finished, request_started
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections, transaction
from hypothesis import HealthCheck, Phase, settings
from rest_framework.throttling import SimpleRateThrottle
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    negative_data_rejection,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from api.openapi import document
from catalogue.usecases.people import new_token
from tests.samples import usb_map

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]
BOUNDED = settings(
    deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck), print_blob=False
)
CABLE = "orrin-vale-invented-plotter-lead-pl-2"
REPORT = {"cable": CABLE, "kind": "core-open", "ending": "mended"}
READING = {"id": "r1", "mode": "beep", "red": "HOST:1", "black": "PLOTTER:1", "beeps": True}

REFUSED = ["400", "401", "403", "404", "405", "406", "409", "410", "412", "413", "415", "422", "428"]
# Whole series of cases at every limit of the map document would take minutes; `tests/exchange` has them.
config = schemathesis.Config.from_dict(
    {
        "phases": {"coverage": {"enabled": False}},
        "checks": {"negative_data_rejection": {"expected-statuses": REFUSED}},
    }
)
schema = schemathesis.openapi.from_dict(copy.deepcopy(document()), config=config)
schema.app = get_wsgi_application()


@pytest.fixture
def people(db, monkeypatch):
    """Headers of somebody who maps and of somebody who confirms; nobody is told to wait."""
    monkeypatch.setattr(SimpleRateThrottle, "allow_request", lambda *_: True)
    request_finished.disconnect(close_old_connections)  # it would end the test's transaction
    request_started.disconnect(close_old_connections)
    yield [{"Authorization": f"Token {new_token(name)[0]}"} for name in ("mira", "oren")]
    request_started.connect(close_old_connections)
    request_finished.connect(close_old_connections)


REACHED = {
    ("submit_map", 201),
    ("read_map", 200),
    ("read_document", 200),
    ("read_drawing", 200),
    ("read_wire_list", 200),
    ("confirm_map", 201),
    ("list_variants", 200),
    ("list_failure_points", 200),
    ("begin_draft", 201),
    ("replace_draft", 200),
    ("submit_draft", 201),
    ("delete_draft", 204),
}
"""What chains of requests come to, by the links of the document."""


FILES = ["read_catalogue", "read_packed_catalogue"]
"""Answers that are files, which schemathesis does not close; `test_feeds` has them."""

UNCHAINED = ["Access", "Mirrors", "Published"]
"""What no link leads to or from."""


def name_of(case):
    return case.operation.definition.raw["operationId"]


@schema.exclude(operation_id=FILES).parametrize()
@settings(BOUNDED, max_examples=10)
def test_every_operation_answers_as_documented(case, people):
    # Any text is a CSV, if need be one whose every line is told to be wrong.
    is_any_taken = name_of(case) == "read_csv"
    case.call_and_validate(headers=people[0], checks=CHECKS if is_any_taken else [*CHECKS, negative_data_rejection])


def test_chains_of_requests_are_answered_as_documented(people):
    mapper, confirmer = people
    bodies = {
        "submit_map": lambda number: usb_map(cable={"maker": "Invented", "model": f"M{number % 3}"}),
        "submit_draft": lambda number: usb_map(meter={"lead_ohms": number % 4}),
        "report_failure": lambda _: REPORT | {"cable": "invented-m1"},
        "confirm_map": lambda number: {"readings": [READING], "note": str(number)},
    }
    reached = Counter()

    class Chains(schema.exclude(tag=UNCHAINED).as_state_machine()):
        """Of four bodies three can be stored, so that chains lead somewhere. Each begins with nothing."""

        def setup(self):
            super().setup()
            self.calls = 0
            self.before = transaction.savepoint()

        def teardown(self):
            transaction.savepoint_rollback(self.before)
            super().teardown()

        def before_call(self, case):
            self.calls += 1
            if (body := bodies.get(name_of(case))) and self.calls % 4:
                case.body = body(self.calls)

        def get_call_kwargs(self, case):
            return {"headers": confirmer if name_of(case) == "confirm_map" else mapper}

        def validate_response(self, response, case, **_):
            reached[name_of(case), response.status_code] += 1
            case.validate_response(response, checks=CHECKS)

    Chains.run(settings=settings(BOUNDED, max_examples=30, stateful_step_count=12, phases=[Phase.generate]))
    assert set(reached) >= REACHED, REACHED - set(reached)
