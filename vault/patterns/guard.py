"""Guarded reading: files are read in worker processes that may hang, crash or swell without harm.

A `Guard` starts its workers when the first files come, keeps them for many files and ends them on leaving the
`with` block.  One thread in this process watches the clock (and, where the system has no ceiling of its own, the
memory) of every busy worker; a worker over its limit is killed, and only the file it was at gets a problem.  A
worker that dies on a file although it had read others before is given the file once more, fresh: what the others
left behind is not that file's fault.  Replies are unpickled through a list of permitted classes, so that a worker
taken over by a hostile file cannot speak for this process.

Workers are plain child processes with two pipes, not `multiprocessing`: nothing of the caller's main module is
imported again, and all systems behave alike.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import pickle
import struct
import subprocess
import sys
import threading
import time
from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from types import TracebackType
from typing import Any

from vault.model.pattern import FileReading
from vault.patterns.worker import LARGEST_REPLY, MEMORY_WORDS, OUT_OF_MEMORY, failed

WORKER = "vault.patterns.worker"  # the module a worker process runs; tests put one of their own in its place
RECYCLE_AFTER = 400  # files read by one worker process
_AHEAD = 32  # jobs taken from the caller before their turn
_TICK = 0.05  # seconds between two looks of the watch
_PERMITTED = {("datetime", "date"), ("decimal", "Decimal"), ("builtins", "frozenset"), ("builtins", "set")}


@dataclass(frozen=True, kw_only=True)
class Job:
    """One file to read: where its bytes lie, what they are, the name to speak of it by.  `key` is the caller's own."""

    path: Path
    media_type: str
    name: str
    key: object = None


class _ValuesOnly(pickle.Unpickler):
    """Unpickles nothing but the values of `vault.model`."""

    def find_class(self, module: str, name: str) -> Any:
        if module.startswith("vault.model.") or (module, name) in _PERMITTED:
            return super().find_class(module, name)
        raise pickle.UnpicklingError(f"{module}.{name} is not a value")


class _Worker:
    """One child process.  `ended_for` is why the watch killed it, if it did."""

    def __init__(self, max_bytes: int, module: str) -> None:
        self.max_bytes = max_bytes
        self.deadline: float | None = None
        self.ended_for = ""
        self.files = 0
        self.highest = 0
        package = str(Path(__file__).resolve().parents[2])
        path = os.pathsep.join(filter(None, (package, os.environ.get("PYTHONPATH", ""))))
        self.process = subprocess.Popen(
            [sys.executable, "-m", module, str(max_bytes)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": path},
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
        self._memory = _resident_memory(self.process.pid)

    def ask(self, request: dict[str, Any], seconds: float) -> Any:
        """The worker's answer.  Raises EOFError where it died or was ended, UnpicklingError where it lies."""
        assert self.process.stdin is not None and self.process.stdout is not None
        self.deadline = time.monotonic() + seconds
        try:
            self.process.stdin.write(json.dumps(request).encode("ascii") + b"\n")
            self.process.stdin.flush()
            head = self._exactly(8)
            (length,) = struct.unpack(">Q", head)
            if length > LARGEST_REPLY + (1 << 20):
                raise pickle.UnpicklingError("the reply is too long")
            reply = self._exactly(length)
        except (BrokenPipeError, OSError) as error:
            raise EOFError from error
        finally:
            self.deadline = None
        self.files += 1
        return _ValuesOnly(io.BytesIO(reply)).load()

    def _exactly(self, count: int) -> bytes:
        assert self.process.stdout is not None
        data = self.process.stdout.read(count)
        if len(data) < count:
            raise EOFError
        return data

    def look(self, now: float) -> None:
        """End the process where it is over a limit.  Called by the watch."""
        deadline = self.deadline
        if deadline is None or self.ended_for:
            return
        if now > deadline:
            self.ended_for = "time"
        else:
            used = self._memory()
            self.highest = max(self.highest, used)
            if used > self.max_bytes:
                self.ended_for = "memory"
        if self.ended_for:
            self.process.kill()

    def spent(self) -> bool:
        """Whether the next file should have a fresh process."""
        return self.process.poll() is not None or self.files >= RECYCLE_AFTER or self._memory() > self.max_bytes // 2

    def stop(self, *, at_once: bool = False) -> None:
        """End the process and collect it; no zombie is left."""
        if at_once:
            self.process.kill()
        for pipe in (self.process.stdin, self.process.stdout):
            with contextlib.suppress(OSError):
                if pipe is not None and (pipe is self.process.stdin or at_once):
                    pipe.close()
        try:
            self.process.wait(2)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        with contextlib.suppress(OSError):
            if self.process.stdout is not None:
                self.process.stdout.close()


class Guard:
    """Reads files in guarded worker processes; use it as a context manager.

    `workers` processes at most; `seconds` and `max_bytes` are what one file may take.  `read` and `read_many` never
    raise for what is in a file: the reading then has a `problem`.
    """

    def __init__(
        self, workers: int = 2, seconds: float = 60.0, max_bytes: int = 1 << 30, *, module: str = WORKER
    ) -> None:
        self._module = module
        self.workers = max(1, workers)
        self.seconds = seconds
        self.max_bytes = max_bytes
        self._threads: ThreadPoolExecutor | None = None
        self._idle: list[_Worker] = []
        self._all: list[_Worker] = []
        self._lock = threading.Lock()
        self._closing = threading.Event()

    def __enter__(self) -> Guard:
        self._closing.clear()
        self._threads = ThreadPoolExecutor(self.workers, thread_name_prefix="pinfold-guard")
        threading.Thread(target=self._watch, name="pinfold-watch", daemon=True).start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._closing.set()
        with self._lock:
            busy = [worker for worker in self._all if worker not in self._idle]
        for worker in busy:
            worker.process.kill()
        if self._threads is not None:
            self._threads.shutdown(wait=True, cancel_futures=True)
            self._threads = None
        for worker in list(self._all):
            self._drop(worker, at_once=worker in busy)

    def read(self, path: Path, *, media_type: str, name: str) -> FileReading:
        """What the file says."""
        return self._submit(Job(path=path, media_type=media_type, name=name)).result()

    def read_many(self, jobs: Iterable[Job]) -> Iterator[tuple[Job, FileReading]]:
        """Every job with its reading, in the order given; all workers are kept busy, jobs are taken as needed."""
        waiting: deque[tuple[Job, Future[FileReading]]] = deque()
        source = iter(jobs)
        try:
            for job in source:
                waiting.append((job, self._submit(job)))
                if len(waiting) >= _AHEAD:
                    first, future = waiting.popleft()
                    yield first, future.result()
            while waiting:
                first, future = waiting.popleft()
                yield first, future.result()
        finally:
            for _, future in waiting:
                future.cancel()

    def picture(self, path: Path, *, media_type: str, page: int = 1) -> bytes | None:
        """A small PNG of one page, or None where none can be made."""
        request = {"do": "picture", "path": str(path.absolute()), "media_type": media_type, "name": "", "page": page}
        answer = self._ask(request)
        return answer if isinstance(answer, bytes) else None

    def _submit(self, job: Job) -> Future[FileReading]:
        if self._threads is None:
            raise RuntimeError("a Guard is used inside its with block")
        return self._threads.submit(self._read, job)

    def _read(self, job: Job) -> FileReading:
        request = {"path": str(job.path.absolute()), "media_type": job.media_type, "name": job.name}
        answer = self._ask(request)
        swollen = isinstance(answer, FileReading) and answer.problem and MEMORY_WORDS in answer.problem.reason
        if isinstance(answer, FileReading) and not swollen:
            return answer
        reading = failed(job.media_type, job.name, answer if isinstance(answer, str) else MEMORY_WORDS)
        return self._at_least(request, reading)

    def _at_least(self, request: dict[str, Any], reading: FileReading) -> FileReading:
        """What can be told of a file without its pages: how many, how large, locked or not."""
        light = self._ask({**request, "light": True})
        if self._closing.is_set() or not isinstance(light, FileReading) or light.problem is not None:
            return reading
        facts = replace(light.facts, is_pattern=None, craft=None, scale_check=None, why=reading.facts.why)
        return FileReading(facts=facts, pdf=light.pdf, problem=reading.problem)

    def _ask(self, request: dict[str, Any]) -> Any:
        """The worker's answer, or the reason why there is none as a string."""
        request = {**request, "seconds": self.seconds}
        reason = "it could not be read"
        for _ in range(2):
            try:
                worker = self._take()
            except OSError as error:
                return f"no reader could be started ({error.strerror or error})"
            fresh = worker.files == 0
            try:
                answer = worker.ask(request, self.seconds)
            except EOFError:
                with contextlib.suppress(subprocess.TimeoutExpired):
                    worker.process.wait(0.5)  # it is ending: let its exit status be its own
                self._drop(worker, at_once=True)
                reason = self._reason(worker)
                if fresh or worker.ended_for == "time" or self._closing.is_set():
                    break
                continue
            except (pickle.UnpicklingError, AttributeError, ImportError, IndexError, TypeError, ValueError):
                self._drop(worker, at_once=True)
                return "its reader gave an answer that makes no sense"
            self._give_back(worker)
            return answer
        return reason

    def _reason(self, worker: _Worker) -> str:
        if worker.ended_for == "time":
            return f"reading it took longer than {self.seconds:g} seconds"
        swollen = worker.highest > 0.6 * self.max_bytes or worker.process.poll() == OUT_OF_MEMORY
        if worker.ended_for == "memory" or swollen:
            return f"{MEMORY_WORDS} ({self.max_bytes >> 20} MB)"
        return "its reader crashed"

    def _take(self) -> _Worker:
        """A worker of one's own.  Raises OSError where none can be started, or the guard is being left."""
        with self._lock:
            worker = self._idle.pop() if self._idle and not self._closing.is_set() else None
        if worker is not None:
            if not worker.spent():
                return worker
            self._drop(worker)
        if not self._closing.is_set():
            worker = _Worker(self.max_bytes, self._module)
            with self._lock:
                self._all.append(worker)
                late = self._closing.is_set()  # then `__exit__` may not have seen it, and nobody watches the clock
            if not late:
                return worker
            self._drop(worker, at_once=True)
        raise OSError("the import was left")

    def _give_back(self, worker: _Worker) -> None:
        with self._lock:
            self._idle.append(worker)

    def _drop(self, worker: _Worker, *, at_once: bool = False) -> None:
        with self._lock:
            self._all = [w for w in self._all if w is not worker]
            self._idle = [w for w in self._idle if w is not worker]
        worker.stop(at_once=at_once)

    def _watch(self) -> None:
        while not self._closing.wait(_TICK):
            now = time.monotonic()
            with self._lock:
                workers = list(self._all)
            for worker in workers:
                worker.look(now)


def _resident_memory(pid: int) -> Any:
    """A function that tells the resident memory of a process in bytes, 0 where it is gone."""
    import psutil

    try:
        process = psutil.Process(pid)
    except psutil.Error:
        return lambda: 0

    def used() -> int:
        try:
            return int(process.memory_info().rss)
        except psutil.Error:
            return 0

    return used
