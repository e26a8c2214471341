"""WebDAV (RFC 4918) through webdav4: `webdavs://user@host/folder` over TLS; without it only to this computer."""

from __future__ import annotations

import contextlib
import posixpath
from collections.abc import Callable, Iterator
from typing import Any, BinaryIO, TypeVar
from urllib.parse import unquote

from vault.errors import BackupError, UsageError
from vault.safekeeping.credentials import credentials_for
from vault.safekeeping.remote import LostConnection
from vault.safekeeping.remote_address import is_loopback, need, parsed

_SECONDS = 60.0
_REFUSED = {401: "does not let you in", 403: "does not allow it", 507: "has no room left", 423: "is locked"}
Result = TypeVar("Result")


class WebDavServer:
    """A folder of a WebDAV server."""

    whole = False  # most servers write in place

    def __init__(self, address: str, *, seconds: float = _SECONDS) -> None:
        self._at = parsed(address, "webdavs", "webdav")
        if address.startswith("webdav:") and not is_loopback(self._at.host):
            raise UsageError(
                "without TLS anyone on the way could read the password", f"write it as webdavs{address[6:]}"
            )
        self.name = self._at.shown
        self._seconds = seconds
        self._client: Any = None
        self._made: set[str] = set()

    def connect(self) -> None:
        """Makes the client; it connects when it is first used."""
        if self._client is not None:
            return
        client = need("webdav4.client", self.name).Client
        known = credentials_for(self.name)
        scheme = "https" if self.name.startswith("webdavs:") else "http"
        port = f":{self._at.port}" if self._at.port else ""
        host = f"[{self._at.host}]" if ":" in self._at.host else self._at.host
        user = unquote(self._at.user) or known.get("user", "")
        self._client = client(
            f"{scheme}://{host}{port}",
            auth=(user, known.get("password", "")) if user else None,
            timeout=self._seconds,
            retry=False,
        )

    def disconnect(self) -> None:
        """Closes the client."""
        if self._client is not None:
            with contextlib.suppress(Exception):
                self._client.http.close()
        self._client = None

    def prepare(self) -> None:
        """Makes the folder; the one above it must be there."""
        self._do(lambda c: self._make(c, self._root, above=False))

    def check(self) -> None:
        """Tells when the folder is not there."""
        if not self._do(lambda c: c.exists(self._root) and c.isdir(self._root)):
            raise BackupError(f"there is no backup folder {self.name}", "check the address", code="missing")

    def listing(self, prefix: str) -> Iterator[tuple[str, int]]:
        """Files, to the depth that names have."""
        folder = prefix.rstrip("/") if prefix.endswith("/") else posixpath.dirname(prefix)
        found: list[tuple[str, int]] = []
        self._do(lambda c: self._walk(c, folder, found, 4))
        return iter([(name, size) for name, size in found if name.startswith(prefix)])

    def fetch(self, name: str, into: BinaryIO) -> None:
        """Reads a file."""

        def read(client: Any) -> None:
            into.seek(0)
            into.truncate()
            client.download_fileobj(self._path(name), into)

        self._do(read)

    def store(self, name: str, source: BinaryIO, n_bytes: int) -> None:
        """Writes a file, with the folders above it."""

        def write(client: Any) -> None:
            self._make(client, posixpath.dirname(self._path(name)))
            client.upload_fileobj(source, self._path(name), overwrite=True, size=n_bytes)

        self._do(write)

    def move(self, name: str, new: str) -> None:
        """Renames, over what was there."""

        def rename(client: Any) -> None:
            self._make(client, posixpath.dirname(self._path(new)))
            client.move(self._path(name), self._path(new), overwrite=True)

        self._do(rename)

    def has(self, name: str) -> bool:
        """Whether something has that name."""
        return bool(self._do(lambda c: c.exists(self._path(name))))

    def delete(self, name: str) -> None:
        """Removes a file."""

        with contextlib.suppress(FileNotFoundError):
            self._do(lambda c: c.remove(self._path(name)))

    @property
    def _root(self) -> str:
        return unquote(self._at.path).strip("/")

    def _path(self, name: str) -> str:
        return posixpath.join(self._root, name)

    def _walk(self, client: Any, folder: str, found: list[tuple[str, int]], depth: int) -> None:
        at = self._path(folder) if folder else self._root
        from webdav4.client import ResourceNotFound

        try:
            entries = client.ls(at, detail=True, allow_listing_resource=False)
        except ResourceNotFound:
            return
        for entry in entries:
            base = posixpath.basename(str(entry["name"]).rstrip("/"))
            name = f"{folder}/{base}" if folder else base
            if entry["type"] == "directory" and depth > 1:
                self._walk(client, name, found, depth - 1)
            elif entry["type"] == "file":
                found.append((name, int(entry.get("content_length") or 0)))

    def _make(self, client: Any, folder: str, *, above: bool = True) -> None:
        if folder in self._made or folder in ("", "."):
            return
        if not client.exists(folder):
            parent = posixpath.dirname(folder)
            if above:
                self._make(client, parent)
            elif parent and not client.exists(parent):
                raise BackupError(
                    f"{self.name} cannot be reached: there is no folder {parent} there",
                    "check the address",
                    code="missing",
                )
            client.mkdir(folder)
        self._made.add(folder)

    def _do(self, work: Callable[[Any], Result]) -> Result:
        """Does something with the client; what breaks the connection is told apart from what the server refuses."""
        import httpx
        from webdav4.client import ClientError, HTTPError, ResourceNotFound

        if self._client is None:
            raise LostConnection("there is no connection")
        try:
            return work(self._client)
        except ResourceNotFound as error:
            raise FileNotFoundError(str(error)) from error
        except HTTPError as error:
            status = int(error.response.status_code)
            if status == 404:
                raise FileNotFoundError(str(error)) from error
            if status in _REFUSED:
                raise BackupError(
                    f"{self.name} {_REFUSED[status]} ({status})",
                    f"check the password (keyring set pinfold {self.name}) and the room that is left",
                    code="full" if status == 507 else "credentials",
                ) from error
            raise LostConnection(f"the server says {status}") from error
        except (ClientError, httpx.HTTPError, httpx.StreamError) as error:
            raise LostConnection(str(error) or type(error).__name__) from error
