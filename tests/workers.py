"""A worker of the queue, in the process of a test."""

from unittest.mock import patch

from django_tasks_db.management.commands import db_worker


def work() -> None:
    """Do the tasks that are due, one after the other, and those that they put into the queue."""
    worker = db_worker.Worker(
        queue_names=["default"],
        interval=0,
        batch=True,
        backend_name="default",
        startup_delay=False,
        max_tasks=None,
        worker_id="of the test",
        excluded_queue_names=[],
    )
    # A test is one transaction, which would end with the connection.
    with patch.object(db_worker, "close_old_connections"):
        worker.run()
