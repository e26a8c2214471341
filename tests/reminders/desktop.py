"""A desktop of its own for one command: a session bus that takes notices and says which it got.

Run as `dbus-run-session -- python desktop.py COMMAND...`; prints one line of JSON: status, notices.
The interface is that of the Desktop Notifications Specification 1.2 (freedesktop.org).
"""

# no postponed annotations here: dbus_fast reads the D-Bus signatures from them
import asyncio
import json
import sys

from dbus_fast import BusType
from dbus_fast.aio import MessageBus
from dbus_fast.service import ServiceInterface, method

NOTICES = []


class Notifications(ServiceInterface):
    def __init__(self):
        super().__init__("org.freedesktop.Notifications")

    @method()
    def GetCapabilities(self) -> "as":  # noqa: F722
        return ["body"]

    @method()
    def GetServerInformation(self) -> "ssss":  # noqa: F821
        return ["stand-in", "tests", "1", "1.2"]

    @method()
    def CloseNotification(self, id: "u"):  # noqa: F821, A002
        pass

    @method()
    def Notify(
        self,
        app_name: "s",  # noqa: F821
        replaces_id: "u",  # noqa: F821
        app_icon: "s",  # noqa: F821
        summary: "s",  # noqa: F821
        body: "s",  # noqa: F821
        actions: "as",  # noqa: F722
        hints: "a{sv}",  # noqa: F722
        expire_timeout: "i",  # noqa: F821
    ) -> "u":  # noqa: F821
        NOTICES.append([app_name, summary, body])
        return len(NOTICES)


async def main() -> None:
    bus = await MessageBus(bus_type=BusType.SESSION).connect()
    bus.export("/org/freedesktop/Notifications", Notifications())
    await bus.request_name("org.freedesktop.Notifications")
    command = await asyncio.create_subprocess_exec(
        *sys.argv[1:], stdout=asyncio.subprocess.DEVNULL, stderr=asyncio.subprocess.PIPE
    )
    _, err = await asyncio.wait_for(command.communicate(), 120)
    print(json.dumps({"status": command.returncode, "notices": NOTICES, "err": err.decode("utf-8", "replace")}))


asyncio.run(main())
