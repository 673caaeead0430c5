"""One piece of work done on many jobs, over several processes that begin clean and end with the one that began them.

An interrupt lets those that are being worked on finish. What a job is and what comes of it is not known here.
"""

from __future__ import annotations

import gc
import os
import signal
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from multiprocessing.context import BaseContext
from typing import TypeVar

#: so many objects a worker makes before Python looks for those that only hold each other: a fifth of those of a machine
OBJECTS_BETWEEN_LOOKS = 20_000

_Job = TypeVar("_Job")
_Record = TypeVar("_Record")


def in_pool(
    work: Callable[[_Job], _Record], jobs: Sequence[_Job], workers: int, done: Callable[[_Record], None]
) -> None:
    """The work on each job, over so many processes; `done` gets each result here. Whatever ends it early, those being worked on are finished first."""
    if not jobs:
        return
    with ProcessPoolExecutor(workers, mp_context=_context(), initializer=_begin) as pool:
        waiting: set[Future[_Record]] = set()
        ahead = iter(jobs)
        try:
            while True:
                # a few more than there are workers: none waits, and an interrupt has little to take back
                while len(waiting) < 2 * workers and (job := next(ahead, None)) is not None:
                    waiting.add(pool.submit(work, job))
                if not waiting:
                    return
                finished, waiting = wait(waiting, return_when=FIRST_COMPLETED)
                for future in finished:
                    done(future.result())
        except KeyboardInterrupt:
            for future in waiting:
                future.cancel()
            with suppress(BrokenProcessPool):
                for future in waiting:
                    if not future.cancelled():
                        done(future.result())
            raise


def _context() -> BaseContext:
    """Processes that begin clean: a fork of a process with threads (a progress bar has one) may hang."""
    from multiprocessing import get_all_start_methods, get_context

    if "forkserver" not in get_all_start_methods():
        return get_context("spawn")
    context = get_context("forkserver")
    context.set_forkserver_preload(["cfgmigrate.fleet.left_to_main", "cfgmigrate.fleet.preload"])
    return context


def _begin() -> None:
    """In each worker, first: leave Ctrl-C to the main process, and end when that is gone."""
    from multiprocessing import connection, parent_process

    import cfgmigrate.fleet.preload  # noqa: F401  (where the processes are not forks of one that has it)

    gc.set_threshold(OBJECTS_BETWEEN_LOOKS)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()
    if parent is not None:

        def watch() -> None:
            connection.wait([parent.sentinel])
            os._exit(1)

        threading.Thread(target=watch, daemon=True).start()
