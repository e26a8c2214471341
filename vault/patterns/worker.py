"""The worker process: reads one file after another for `vault.patterns.guard` and never outlives its parent.

Started as `python -m vault.patterns.worker`.  Requests come on standard input, one JSON object on a line; replies go
out on what was standard output as a length (8 bytes, big-endian) and a pickled value.  Limits of memory and
processor time are set on the process itself where the system has them; a thread waits for the end of standard input,
which is how a worker notices, in the middle of a file too, that its parent is gone.
"""

from __future__ import annotations

import contextlib
import json
import os
import pickle
import queue
import signal
import struct
import sys
import threading
from dataclasses import replace
from pathlib import Path
from typing import Any, BinaryIO

from vault.model.evidence import Problem
from vault.model.pattern import FileReading, PatternFacts

LARGEST_REPLY = 48 << 20  # bytes of one pickled reading; a reading above it is handed over without its runs
RECEIPT_PAGES = 40  # pages of a file that is no pattern whose text is handed over
OUT_OF_MEMORY = 77  # exit status of a worker that could not even say so
MEMORY_WORDS = "it needs more memory than a file may have"


def main() -> None:
    """Serve requests until standard input ends."""
    requests, replies = _private_streams()
    with contextlib.suppress(ValueError, OSError):
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent decides what Ctrl-C means
    limit_memory(int(sys.argv[1]) if len(sys.argv) > 1 else 0)
    pending: queue.SimpleQueue[bytes] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(requests, pending), daemon=True).start()
    while True:
        request = json.loads(pending.get())
        limit_processor_time(float(request["seconds"]))
        try:
            reply = pickled(serve(request))
        except MemoryError:
            os._exit(OUT_OF_MEMORY)
        replies.write(struct.pack(">Q", len(reply)) + reply)
        replies.flush()


def _private_streams() -> tuple[BinaryIO, BinaryIO]:
    """The two pipes, moved away from descriptors 0 and 1, so that no library's chatter gets into a reply."""
    requests, replies = os.dup(0), os.dup(1)
    nothing = os.open(os.devnull, os.O_RDWR)
    os.dup2(nothing, 0)
    os.dup2(nothing, 1)
    if sys.platform == "win32":
        import msvcrt

        msvcrt.setmode(requests, os.O_BINARY)
        msvcrt.setmode(replies, os.O_BINARY)
    return os.fdopen(requests, "rb"), os.fdopen(replies, "wb")


def _listen(requests: BinaryIO, pending: queue.SimpleQueue[bytes]) -> None:
    for line in requests:
        pending.put(line)
    os._exit(0)  # the parent has closed the pipe or is gone


def limit_memory(n_bytes: int) -> None:
    """A ceiling on the address space where the system keeps to it (Linux); elsewhere the parent watches."""
    if sys.platform == "win32" or not n_bytes:
        return
    import resource

    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    if sys.platform == "linux":
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(resource.RLIMIT_AS, (n_bytes, n_bytes))


def limit_processor_time(seconds: float) -> None:
    """A backstop for a parent that is gone while a library holds the interpreter: the system ends the process."""
    if sys.platform == "win32":
        return
    import resource

    used = resource.getrusage(resource.RUSAGE_SELF)
    soft = int(used.ru_utime + used.ru_stime + 2 * seconds + 10)
    hard = resource.getrlimit(resource.RLIMIT_CPU)[1]
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_CPU, (soft, hard))


def serve(request: dict[str, Any]) -> FileReading | bytes | None:
    """The answer to one request: a reading, or a page picture.  Any exception costs only this file."""
    name, media_type = str(request["name"]), str(request["media_type"])
    try:
        if request.get("do") == "picture":
            from vault.patterns.pictures import page_picture

            return page_picture(Path(request["path"]), media_type=media_type, page=int(request["page"]))
        from vault.patterns.read import read_file

        seconds, light = float(request["seconds"]) / 2, bool(request.get("light"))
        reading = read_file(Path(request["path"]), media_type=media_type, name=name, seconds=seconds, light=light)
        return handed_over(reading)
    except MemoryError:
        return failed(media_type, name, MEMORY_WORDS)
    except RecursionError:
        return failed(media_type, name, "it is nested too deeply")
    except FileNotFoundError:
        return failed(media_type, name, "the file is gone", "import it again from where it lies")
    except OSError as error:
        return failed(media_type, name, f"it could not be opened ({error.strerror or error})", "check its permissions")
    except Exception as error:  # noqa: BLE001 - whatever a hostile file provokes must cost only that file
        return failed(media_type, name, f"its reader failed ({type(error).__name__}: {str(error)[:200]})")


def handed_over(reading: FileReading) -> FileReading:
    """The reading without what no one asks for: a pattern is no receipt, and no receipt has a hundred pages."""
    if reading.pdf is None:
        return reading
    from vault.patterns.pdf import without_text

    kept = 0 if reading.facts.is_pattern else RECEIPT_PAGES
    return replace(reading, pdf=without_text(reading.pdf, after=kept))


def failed(media_type: str, name: str, reason: str, next_step: str = "") -> FileReading:
    """A reading that holds nothing but the problem."""
    step = next_step or "open it in a viewer to see whether it is whole; the file itself is kept as it is"
    return FileReading(
        facts=PatternFacts(media_type=media_type, why=(f"not read: {reason}",)),
        problem=Problem(source=name, reason=reason, next=step),
    )


def pickled(answer: FileReading | bytes | None) -> bytes:
    """The answer as bytes of bounded size."""
    reply = pickle.dumps(answer, protocol=5)
    if len(reply) > LARGEST_REPLY and isinstance(answer, FileReading) and answer.pdf is not None:
        from vault.patterns.pdf import without_text

        reply = pickle.dumps(replace(answer, pdf=without_text(answer.pdf)), protocol=5)
    if len(reply) > LARGEST_REPLY and isinstance(answer, FileReading):
        facts = answer.facts
        reply = pickle.dumps(failed(facts.media_type, "", "what it says is too long to keep"), protocol=5)
    return reply


if __name__ == "__main__":
    main()
