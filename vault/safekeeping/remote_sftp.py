"""SFTP (draft-ietf-secsh-filexfer-02, as OpenSSH speaks it) through paramiko.

`sftp://user@host:port/folder`, or `/~/folder` for one in the home folder there.  A server whose key is not among the
known hosts is refused: whoever sits in between would see every password.
"""

from __future__ import annotations

import contextlib
import posixpath
import stat
from collections.abc import Iterator
from typing import TYPE_CHECKING, BinaryIO, TypeVar
from urllib.parse import unquote

from vault.errors import BackupError
from vault.safekeeping.credentials import credentials_for
from vault.safekeeping.remote import LostConnection
from vault.safekeeping.remote_address import Address, need, parsed

if TYPE_CHECKING:
    from collections.abc import Callable

    from paramiko import SFTPClient, SSHClient

_SECONDS = 30.0
Result = TypeVar("Result")


class SftpServer:
    """One SSH connection with one SFTP channel."""

    whole = False

    def __init__(self, address: str, *, seconds: float = _SECONDS) -> None:
        self._at: Address = parsed(address, "sftp")
        self.name = self._at.shown
        self._seconds = seconds
        self._ssh: SSHClient | None = None
        self._sftp: SFTPClient | None = None
        self._made: set[str] = set()
        path = unquote(self._at.path) or "/~"
        self._root = path[3:] or "." if path.startswith("/~/") else "." if path == "/~" else path

    def connect(self) -> None:
        """Connects with a key of hers or the password for the address."""
        if self._sftp is not None:
            return
        paramiko = need("paramiko", self.name)
        known = credentials_for(self.name)
        ssh: SSHClient = paramiko.SSHClient()
        with contextlib.suppress(OSError):
            ssh.load_system_host_keys()
        ssh.set_missing_host_key_policy(paramiko.RejectPolicy())
        try:
            ssh.connect(
                self._at.host,
                port=self._at.port or 22,
                username=self._at.user or None,
                password=known.get("password"),
                key_filename=known.get("key_file"),
                timeout=self._seconds,
                banner_timeout=self._seconds,
                auth_timeout=self._seconds,
            )
            self._sftp = ssh.open_sftp()
            channel = self._sftp.get_channel()
            if channel is not None:
                channel.settimeout(self._seconds)
            self._ssh = ssh
        except paramiko.BadHostKeyException as error:
            ssh.close()
            raise BackupError(
                f"{self._at.host} shows another key than the one that is known: this may be a trap",
                "ask whoever runs the server whether its key was changed",
                code="host-key",
            ) from error
        except (paramiko.AuthenticationException, paramiko.PasswordRequiredException) as error:
            ssh.close()
            raise BackupError(
                f"{self.name} does not let you in",
                f"keep the password in the keyring (keyring set pinfold {self.name}) or in the file of credentials",
                code="credentials",
            ) from error
        except paramiko.SSHException as error:
            ssh.close()
            if "known_hosts" in str(error):
                raise BackupError(
                    f"the key of {self._at.host} is not known to this computer",
                    f"connect to it once with ssh ({self._at.host}) and compare the key that it shows",
                    code="host-key",
                ) from error
            raise LostConnection(str(error) or type(error).__name__) from error
        except (OSError, EOFError) as error:
            ssh.close()
            raise LostConnection(str(error) or type(error).__name__) from error

    def disconnect(self) -> None:
        """Closes the connection."""
        if self._ssh is not None:
            with contextlib.suppress(Exception):
                self._ssh.close()
        self._ssh = self._sftp = None

    def prepare(self) -> None:
        """Makes the folder; the one above it must be there."""
        self._do(lambda s: self._make(s, self._root, above=False))

    def check(self) -> None:
        """Tells when the folder is not there."""

        def look(sftp: SFTPClient) -> bool:
            try:
                return stat.S_ISDIR(sftp.stat(self._root).st_mode or 0)
            except FileNotFoundError:
                return False

        if not self._do(look):
            raise BackupError(f"there is no backup folder {self.name}", "check the address", code="missing")

    def listing(self, prefix: str) -> Iterator[tuple[str, int]]:
        """Plain files, no links, to the depth that names have."""
        folder = prefix.rstrip("/") if prefix.endswith("/") else posixpath.dirname(prefix)
        found: list[tuple[str, int]] = []
        self._do(lambda s: self._walk(s, folder, found, 4))
        return iter([(name, size) for name, size in found if name.startswith(prefix)])

    def fetch(self, name: str, into: BinaryIO) -> None:
        """Reads a plain file."""

        def read(sftp: SFTPClient) -> None:
            if not stat.S_ISREG(sftp.lstat(self._path(name)).st_mode or 0):
                raise FileNotFoundError(name)
            into.seek(0)
            into.truncate()
            sftp.getfo(self._path(name), into)

        self._do(read)

    def store(self, name: str, source: BinaryIO, n_bytes: int) -> None:
        """Writes a file, with the folders above it."""

        def write(sftp: SFTPClient) -> None:
            self._make(sftp, posixpath.dirname(self._path(name)))
            sftp.putfo(source, self._path(name), file_size=n_bytes, confirm=True)

        self._do(write)

    def move(self, name: str, new: str) -> None:
        """Renames, over what was there (an extension that OpenSSH and its kin know)."""

        def rename(sftp: SFTPClient) -> None:
            self._make(sftp, posixpath.dirname(self._path(new)))
            sftp.posix_rename(self._path(name), self._path(new))

        self._do(rename)

    def has(self, name: str) -> bool:
        """Whether something has that name."""

        def look(sftp: SFTPClient) -> bool:
            try:
                sftp.lstat(self._path(name))
            except FileNotFoundError:
                return False
            return True

        return self._do(look)

    def delete(self, name: str) -> None:
        """Removes a file."""

        def remove(sftp: SFTPClient) -> None:
            with contextlib.suppress(FileNotFoundError):
                sftp.remove(self._path(name))

        self._do(remove)

    def _path(self, name: str) -> str:
        return posixpath.join(self._root, name)

    def _walk(self, sftp: SFTPClient, folder: str, found: list[tuple[str, int]], depth: int) -> None:
        try:
            entries = sftp.listdir_attr(self._path(folder))
        except FileNotFoundError:
            return
        for entry in entries:
            name = f"{folder}/{entry.filename}" if folder else entry.filename
            mode = entry.st_mode or 0
            if stat.S_ISDIR(mode) and depth > 1:
                self._walk(sftp, name, found, depth - 1)
            elif stat.S_ISREG(mode):
                found.append((name, entry.st_size or 0))

    def _make(self, sftp: SFTPClient, folder: str, *, above: bool = True) -> None:
        if folder in self._made or folder in ("", ".", "/"):
            return
        try:
            if not stat.S_ISDIR(sftp.stat(folder).st_mode or 0):
                raise BackupError(f"{folder} on {self._at.host} is no folder", "name a folder", code="not-a-folder")
        except FileNotFoundError:
            parent = posixpath.dirname(folder)
            if above and parent != folder:
                self._make(sftp, parent)
            try:
                sftp.mkdir(folder)
            except FileNotFoundError as error:
                raise BackupError(
                    f"{self.name} cannot be reached: there is no folder {parent} there",
                    "check the address",
                    code="missing",
                ) from error
        self._made.add(folder)

    def _do(self, work: Callable[[SFTPClient], Result]) -> Result:
        """Does something on the channel; what breaks it is told apart from what the server refuses."""
        from paramiko import SSHException

        if self._sftp is None:
            raise LostConnection("there is no connection")
        try:
            return work(self._sftp)
        except FileNotFoundError:
            raise
        except PermissionError as error:
            raise BackupError(
                f"{self.name} may not be written to or read", "ask whoever runs the server", code="read-only"
            ) from error
        except (SSHException, EOFError, TimeoutError, ConnectionError) as error:
            raise LostConnection(str(error) or type(error).__name__) from error
        except OSError as error:
            if error.errno is None and "Failure" in str(error):  # SSH_FX_FAILURE says no more
                raise BackupError(
                    f"the server of {self.name} refuses it", "is its disk full?  ask whoever runs it", code="refused"
                ) from error
            raise LostConnection(str(error) or type(error).__name__) from error
