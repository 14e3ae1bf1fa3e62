"""Deriving all maps anew, here or by workers on any number of machines; and tidying up after what died or is done.

Workers go through the maps by a chain of tasks, each for a few maps. A task puts the next one into the queue before
it begins: so as many are at work as there are workers, and one that dies holds up nobody. Nothing depends on which
tasks were finished, because each map tells when it was derived last: at the end the chain goes back to those that
are left, such as those of a worker that died.
"""

import logging
from collections.abc import Callable
from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.utils import timezone
from django_tasks import TaskResultStatus, task
from django_tasks_db.models import DBTaskResult

from catalogue.core.problems import BadRequest
from catalogue.usecases.maps import kept_map, maps_derived_before, rebuild_derived
from catalogue.usecases.repeats import forget_old_answers

AT_ONCE = 50
"""Maps of one task: a few seconds, so that other tasks need not wait long behind them."""

AGAIN_AFTER = timedelta(seconds=5)
MOST_ROUNDS = 20
"""How often, and after what pause, the chain goes back to the maps that are left."""

DEAD_AFTER = timedelta(minutes=10)
"""No task takes as long, so one that does has lost its worker."""

MOST_TRIES = 3
"""Workers that may die of one task before it counts as failed."""

KEPT = timedelta(days=1)

logger = logging.getLogger(__name__)


def rebuild_here(before: datetime, tell: Callable[[int], object] = lambda done: None) -> int:
    """Derive anew all maps that were derived before a moment, one after the other. Result: how many.

    `tell` is called with how many are done after each of them.
    """
    ids = list(maps_derived_before(before))
    for done, map_id in enumerate(ids, start=1):
        rebuild_derived(kept_map(map_id))
        tell(done)
    return len(ids)


def rebuild_by_workers(before: datetime) -> None:
    """Have it done by the workers of the queue. Raises BadRequest where there is no queue."""
    if not settings.HAS_QUEUE:
        raise BadRequest("There is no queue here. Set TASK_QUEUE=database, or rebuild without --queue.")
    rebuild_some.enqueue(before.isoformat())


@task(priority=-10)
def rebuild_some(before: str, after: int = 0, rounds: int = 1) -> None:
    """Derive anew the next maps, beyond the number `after`, that were derived before a moment in ISO 8601."""
    stale = maps_derived_before(datetime.fromisoformat(before))
    ids = list(stale.filter(pk__gt=after)[:AT_ONCE])
    if ids:
        rebuild_some.enqueue(before, ids[-1], rounds)
    elif rounds < MOST_ROUNDS and stale.exists():
        rebuild_some.using(run_after=timezone.now() + AGAIN_AFTER).enqueue(before, 0, rounds + 1)
    for map_id in ids:
        try:
            rebuild_derived(kept_map(map_id))
        # Whatever is the matter with one map, the others are not to wait for it.
        except Exception:
            logger.exception("Map %s could not be derived anew", map_id)


def tidy_up() -> tuple[int, int]:
    """Throw away what is not asked for any more, and have done what a dead worker left.

    Result: how many answers and tasks were thrown away, and of how many tasks the worker had died.
    """
    forgotten = forget_old_answers()
    done, _ = DBTaskResult.objects.finished().filter(finished_at__lt=timezone.now() - KEPT).delete()
    return forgotten + done, _put_back()


def _put_back() -> int:
    """Put the tasks back into the queue whose workers must have died, unless too many died of one.

    They harm nothing when they are done twice. Result: how many there were.
    """
    dead = DBTaskResult.objects.running().filter(started_at__lt=timezone.now() - DEAD_AFTER)
    with transaction.atomic():
        found = list(dead.select_for_update(skip_locked=True))
        for each in found:
            is_hopeless = len(each.worker_ids) >= MOST_TRIES
            each.status = TaskResultStatus.FAILED if is_hopeless else TaskResultStatus.READY
            each.finished_at = timezone.now() if is_hopeless else None
            each.save(update_fields=["status", "finished_at"])
            logger.error("A worker died at task %s (%s): %s", each.pk, each.task_path, each.status)
    return len(found)
