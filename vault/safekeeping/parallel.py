"""Several objects at a time, results in order.

Encrypting, digesting, reading and writing all leave Python's lock for most of their time, so a few threads keep disk
and processor busy together.  At most `window` results wait, which bounds memory and open files.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Generator, Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

Job = TypeVar("Job")
Result = TypeVar("Result")


def in_order(
    jobs: Iterable[Job],
    work: Callable[[Job], Result],
    *,
    workers: int,
    discard: Callable[[Result], object],
    window: int = 48,
) -> Generator[Result, None, None]:
    """`work` of each job, in the order of the jobs, on `workers` threads (1: in this one).

    When a job fails, or the caller stops early, results that nobody will take go to `discard`.
    """
    if workers <= 1:
        yield from map(work, jobs)
        return
    waiting: deque[Future[Result]] = deque()
    with ThreadPoolExecutor(workers, thread_name_prefix="safekeeping") as pool:
        try:
            for job in jobs:
                waiting.append(pool.submit(work, job))
                if len(waiting) >= window:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            for future in waiting:
                future.cancel()
            for future in waiting:
                if not future.cancelled() and future.exception() is None:
                    discard(future.result())
