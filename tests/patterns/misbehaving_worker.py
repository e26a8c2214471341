"""A worker whose reader does what the name of the file says: hang, crash, swell, lie.  For the tests of the guard."""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import Any

from vault.model.pattern import FileReading, PatternFacts
from vault.patterns import worker


class Liar:
    """Pickles into a call that a reader of values must not make."""

    def __reduce__(self) -> tuple[Any, tuple[str]]:
        return os.system, ("touch " + os.environ.get("LIAR_MARK", os.devnull),)


def serve(request: dict[str, Any]) -> Any:
    name = request["name"]
    if request.get("light"):
        if "even-light" in name:
            os.abort()
        return FileReading(facts=PatternFacts(media_type="application/pdf", pages=7))
    if name.startswith("hang"):
        time.sleep(3600)
    elif name.startswith("spin"):
        while True:
            pass
    elif name.startswith("crash"):
        os.abort()
    elif name.startswith("exit"):
        os._exit(3)
    elif name.startswith("swell"):
        return [bytearray(8 << 20) for _ in range(10_000)]
    elif name.startswith("lie"):
        return Liar()
    elif name.startswith("chatter"):
        print("noise on standard output", flush=True)
        os.write(1, b"more noise")
    elif name.startswith("flaky") and not Path(request["path"]).with_suffix(".once").exists():
        Path(request["path"]).with_suffix(".once").touch()
        os.abort()
    return FileReading(facts=PatternFacts(media_type="text/plain", title=f"{name} {os.getpid()}"))


worker.serve = serve

if __name__ == "__main__":
    worker.main()
