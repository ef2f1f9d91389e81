"""Several tasks at once, in processes of their own: the one place that starts any.

It knows nothing of what the tasks are.
"""

import os
import signal
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TypeVar

Result = TypeVar("Result")


def all_cores() -> int:
    """Count the cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def run_all(tasks: Sequence[Callable[[], Result]], jobs: int) -> list[Result]:
    """Do every task and give what each gives, in order; with more than one job, side by side.

    Each task and what it gives must be able to be sent to another process.
    """
    if jobs == 1 or len(tasks) < 2:  # noqa: PLR2004 - nothing stands beside a single task
        return [task() for task in tasks]
    from multiprocessing import resource_tracker

    from joblib import Parallel, delayed

    resource_tracker.ensure_running()  # what begins it lets Ctrl-C through again, so it comes first
    with _deaf_to_interrupts():
        found = Parallel(n_jobs=jobs, return_as="generator")(delayed(task)() for task in tasks)
    return list(found)


@contextmanager
def _deaf_to_interrupts() -> Iterator[None]:
    """Hold Ctrl-C back for so long. Processes begun meanwhile never hear it: we end them ourselves.

    Else each of them would print where it happened to be.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
