"""Object storage that speaks the S3 protocol, through obstore: `s3://bucket/prefix`.

Where it is and what opens it stands in the file of credentials (endpoint, region, access_key_id, secret_access_key),
else in the environment variables and the settings that S3 tools share.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any, BinaryIO, TypeVar
from urllib.parse import urlsplit

from vault.errors import BackupError
from vault.safekeeping.credentials import credentials_for
from vault.safekeeping.remote import LostConnection
from vault.safekeeping.remote_address import is_loopback, need, parsed

_SECONDS = 60
Result = TypeVar("Result")


class S3Server:
    """A prefix of a bucket."""

    whole = True

    def __init__(self, address: str, *, seconds: int = _SECONDS) -> None:
        self._at = parsed(address, "s3")
        self.name = self._at.shown
        self._prefix = self._at.path.strip("/")
        self._seconds = seconds
        self._store: Any = None

    def connect(self) -> None:
        """Makes the client."""
        if self._store is not None:
            return
        need("obstore", self.name)
        from obstore.store import S3Store

        known = credentials_for(self.name)
        if "password" in known and ":" in known["password"]:  # as the keyring has it
            known["access_key_id"], known["secret_access_key"] = known["password"].split(":", 1)
        config: dict[str, Any] = {
            k: known[k] for k in ("access_key_id", "secret_access_key", "region", "endpoint") if k in known
        }
        endpoint = urlsplit(config.get("endpoint", ""))
        plain = endpoint.scheme == "http"
        if plain and not is_loopback(endpoint.hostname or ""):
            raise BackupError(
                f"the endpoint of {self.name} is not encrypted", "write it with https://", code="credentials"
            )
        config.setdefault("region", "us-east-1")
        self._store = S3Store(
            self._at.host,
            **config,
            client_options={"allow_http": plain, "timeout": timedelta(seconds=self._seconds)},
            retry_config={"max_retries": 2, "retry_timeout": timedelta(seconds=self._seconds)},
        )

    def disconnect(self) -> None:
        """Lets the client go."""
        self._store = None

    def prepare(self) -> None:
        """Tells when the bucket cannot be used; a prefix needs no making."""
        self.check_bucket()

    def check(self) -> None:
        """Tells when there is nothing under the prefix."""
        self.check_bucket()

    def check_bucket(self) -> None:
        """Asks for the first name under the prefix."""
        self._do(lambda obs, store: next(iter(obs.list(store, self._prefix or None, chunk_size=1)), None))

    def listing(self, prefix: str) -> Iterator[tuple[str, int]]:
        """All objects under the prefix."""
        start = f"{self._prefix}/" if self._prefix else ""
        folder = (start + prefix).rpartition("/")[0]

        def read(obs: Any, store: Any) -> list[tuple[str, int]]:
            return [(str(m["path"]), int(m["size"])) for chunk in obs.list(store, folder or None) for m in chunk]

        found = self._do(read)
        own = [(path[len(start) :], size) for path, size in found if path.startswith(start)]
        return iter([(name, size) for name, size in own if name.startswith(prefix)])

    def fetch(self, name: str, into: BinaryIO) -> None:
        """Reads an object."""

        def read(obs: Any, store: Any) -> None:
            into.seek(0)
            into.truncate()
            for chunk in obs.get(store, self._key(name)).stream(min_chunk_size=1 << 20):
                into.write(bytes(chunk))

        self._do(read)

    def store(self, name: str, source: BinaryIO, n_bytes: int) -> None:
        """Writes an object, in parts where it is large."""
        small = source.read() if n_bytes <= 4 << 20 else None
        self._do(lambda obs, store: obs.put(store, self._key(name), source if small is None else small))

    def move(self, name: str, new: str) -> None:
        """Renames by copying."""
        self._do(lambda obs, store: obs.rename(store, self._key(name), self._key(new)))

    def has(self, name: str) -> bool:
        """Whether an object has that name."""
        try:
            self._do(lambda obs, store: obs.head(store, self._key(name)))
        except FileNotFoundError:
            return False
        return True

    def delete(self, name: str) -> None:
        """Removes an object."""
        try:
            self._do(lambda obs, store: obs.delete(store, self._key(name)))
        except FileNotFoundError:
            return

    def _key(self, name: str) -> str:
        return f"{self._prefix}/{name}" if self._prefix else name

    def _do(self, work: Callable[[Any, Any], Result]) -> Result:
        """Does something with the store; what breaks the connection is told apart from what the server refuses."""
        import obstore as obs
        from obstore import exceptions as wrong

        if self._store is None:
            raise LostConnection("there is no connection")
        try:
            return work(obs, self._store)
        except FileNotFoundError as error:
            if "bucket" in str(error).lower():
                raise BackupError(f"there is no bucket for {self.name}", "make it first", code="missing") from error
            raise
        except (wrong.PermissionDeniedError, wrong.UnauthenticatedError) as error:
            raise BackupError(
                f"{self.name} does not let you in",
                "check access_key_id and secret_access_key in the file of credentials (docs/formats/backup.md)",
                code="credentials",
            ) from error
        except (wrong.BaseError, OSError) as error:
            raise LostConnection(str(error).splitlines()[0][:200] if str(error) else type(error).__name__) from error
