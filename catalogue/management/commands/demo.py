"""`manage.py demo`: loads the invented cables of `fixtures/demo`, their failure reports, reviews and refused drafts.

Everything goes the way of any contribution, through the use cases, so the demo shows nothing that the site
would not take. A second run adds nothing; it only gives the demo's people new passwords, since the old ones
are not kept.
"""

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from catalogue.core.failures import failure_from
from catalogue.core.reviewing import Kind, Standing
from catalogue.usecases.cables import cable_by_slug
from catalogue.usecases.failures import failures_as_values, report_failure
from catalogue.usecases.maps import Submission, submit_map
from catalogue.usecases.people import appoint_reviewer, contributor, new_password, vouch_for_address
from catalogue.usecases.reviews import decide, last_review

DEMO = Path(settings.BASE_DIR) / "fixtures" / "demo"


class Command(BaseCommand):
    help = "Load the invented cables, failure reports and refused drafts of the demo. Safe to run twice."

    def handle(self, *args: object, **options: object) -> None:
        scenario = json.loads((DEMO / "scenario.json").read_text(encoding="utf-8"))
        stored = self._load_maps(scenario["maps"])
        self._load_failures(json.loads((DEMO / "failures.json").read_text(encoding="utf-8")), stored)
        self._load_drafts(scenario["drafts"])
        for person in scenario["people"]:
            user, _ = contributor(person["name"])
            vouch_for_address(user, f"{person['name']}@example.invalid")
            if person.get("reviewer"):
                appoint_reviewer(user.username)
            password = new_password(user)
            self.stdout.write(f"Sign in as {person['name']} with the password {password}")
        self._load_reviews(scenario["reviews"], stored)

    def _load_maps(self, entries: Iterable[dict[str, str]]) -> dict[str, Any]:
        """Submit each map; the row that it is stored as, by the name of its file."""
        stored = {}
        for entry in entries:
            submission = _submit(entry)
            if submission.map is None:
                refusal = "; ".join(finding.message for finding in submission.findings)
                raise CommandError(f"The map {entry['map']} is refused: {refusal}")
            stored[entry["map"]] = submission.map
            outcome = "stored" if submission.is_new else "there already"
            self.stdout.write(f"{submission.map.cable}, map revision {submission.map.number}: {outcome}")
        return stored

    def _load_failures(self, entries: Iterable[dict[str, Any]], maps: dict[str, Any]) -> None:
        new = known = 0
        for entry in entries:
            cable, failure = cable_by_slug(maps[entry["map"]].cable.slug), failure_from(entry)
            if failure in failures_as_values(cable):
                known += 1
            else:
                report_failure(contributor(entry["reporter"])[0], cable, failure)
                new += 1
        self.stdout.write(f"Failure reports: {new} stored, {known} there already")

    def _load_reviews(self, entries: Iterable[dict[str, str]], maps: dict[str, Any]) -> None:
        """Keep each decision on a map that has none yet."""
        for entry in entries:
            row, (reviewer, _) = maps[entry["map"]], contributor(entry["reviewer"])
            if last_review(row) is None:
                decision = Standing(entry["decision"])
                # No mail goes out, because nobody reads that of invented people.
                decide(reviewer, Kind.MAP, row.pk, decision, entry["reason"], seen=0, account_page="")

    def _load_drafts(self, entries: Iterable[dict[str, str]]) -> None:
        for entry in entries:
            submission = _submit(entry)
            if submission.draft is None:
                raise CommandError(f"The map {entry['map']} should be refused, and is not.")
            refusal = submission.findings[0].message
            self.stdout.write(f"{submission.draft}, a draft of {entry['author']}, is refused: {refusal}")


def _submit(entry: dict[str, str]) -> Submission:
    author, _ = contributor(entry["author"])
    return submit_map(author, (DEMO / f"{entry['map']}.json").read_bytes())
