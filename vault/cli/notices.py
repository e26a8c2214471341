"""A notice on the desktop, through the system's own notices.  It is a convenience: it fails in words, never loudly."""

from __future__ import annotations

import os
import sys

_SECONDS = 8.0


def show(title: str, text: str) -> str:
    """Shows a notice.  Returns why that could not be done, in plain words; empty if it was shown."""
    if sys.platform.startswith("linux") and not os.environ.get("DBUS_SESSION_BUS_ADDRESS"):
        return "there is no desktop session here"
    import asyncio
    import logging

    try:
        from desktop_notifier import DesktopNotifier
    except ImportError:
        return "the library for notices is not installed: pip install desktop-notifier"
    # What it cannot do it logs as a traceback; the words below are enough.
    logging.getLogger("desktop_notifier").setLevel(logging.CRITICAL)

    async def send() -> None:
        notifier = DesktopNotifier(app_name="Pinfold", app_icon=None)
        await asyncio.wait_for(notifier.send(title=title, message=text), _SECONDS)

    try:
        asyncio.run(send())
    except TimeoutError:
        return "the desktop did not answer"
    except Exception as fault:  # noqa: BLE001  what a desktop's bus may raise is not listed anywhere
        return f"the desktop did not take it ({type(fault).__name__})"
    return ""
