"""What every test needs: its own empty cache, and property tests that never fail for want of time."""

import os
from collections.abc import Iterator

import hypothesis
import pytest
from django.core.cache import cache
from django.db import connection

# Timing decides no test, so there is no deadline and slow drawing of examples is no error. In CI the examples
# are the same in every run, so that a red run can be repeated; at a desk they differ, to find more.
hypothesis.settings.register_profile("desk", deadline=None, suppress_health_check=[hypothesis.HealthCheck.too_slow])
hypothesis.settings.register_profile("ci", hypothesis.settings.get_profile("desk"), derandomize=True)
hypothesis.settings.load_profile("ci" if os.environ.get("CI") else "desk")


def pytest_report_header() -> str:
    """The head of each run names the store it is on, so that no log is mistaken for the other's."""
    return f"store: {connection.vendor}"


STORE = {"db", "transactional_db", "live_server"}


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Marks `any_store` what asks for no store, so that a run on a second store can leave it out by `-m`."""
    for item in items:
        is_of_the_store = item.get_closest_marker("django_db") or STORE & set(getattr(item, "fixturenames", ()))
        if not is_of_the_store:
            item.add_marker("any_store")


@pytest.fixture(autouse=True)
def empty_cache() -> Iterator[None]:
    """What one test leaves in the cache, such as a drawing or a rate limit's count, no other test sees."""
    yield
    cache.clear()


@pytest.fixture
def has_queue(settings) -> None:
    """The site has a queue in its store, as with TASK_QUEUE=database; `tests.workers.work` does what is in it."""
    settings.HAS_QUEUE = True
    settings.TASKS = {"default": {"BACKEND": settings.QUEUES["database"]}}
