"""A real mail server on loopback: Dovecot with a configuration, a certificate and mails of the test's own.

Everything lies in a folder that is made for it; nothing of the system's own set-up is read or touched.
"""

from __future__ import annotations

import contextlib
import os
import pwd
import shutil
import signal
import socket
import subprocess
import tempfile
import threading
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

USER, PASSWORD = "nora@wardrobe.example", "drei Möwen über kaltem Hafen"
_FOUND = shutil.which("dovecot") or next(
    (p for p in ("/usr/sbin/dovecot", "/usr/local/sbin/dovecot") if Path(p).exists()), None
)


def _usable() -> str | None:
    """The server, if it is of the series whose settings are written below (2.4 has others)."""
    if _FOUND is None:
        return None
    said = subprocess.run([_FOUND, "--version"], capture_output=True, text=True, check=False).stdout
    return _FOUND if said.startswith(("2.2.", "2.3.")) else None


DOVECOT = _usable()

_CONFIG = """
base_dir = {run}
state_dir = {run}
log_path = {log}
protocols = imap
ssl = {ssl}
ssl_cert = <{root}/cert.pem
ssl_key = <{root}/key.pem
disable_plaintext_auth = yes
auth_mechanisms = plain
default_internal_user = {me}
default_internal_group = {group}
default_login_user = {me}
first_valid_uid = 1
mail_location = maildir:{root}/mail:LAYOUT=fs
mailbox_list_index = no
namespace inbox {{
  inbox = yes
  separator = /
  mailbox Trash {{
    special_use = \\Trash
  }}
  mailbox Junk {{
    special_use = \\Junk
  }}
}}
passdb {{
  driver = passwd-file
  args = scheme=PLAIN username_format=%u {root}/users
}}
userdb {{
  driver = static
  args = uid={owner} gid={owner_group} home={root}/home
}}
service imap-login {{
  chroot =
  inet_listener imap {{
    address = 127.0.0.1
    port = {plain}
  }}
  inet_listener imaps {{
    address = 127.0.0.1
    port = {tls}
    ssl = yes
  }}
}}
service anvil {{
  chroot =
}}
service stats {{
  chroot =
}}
"""


def certificate(folder: Path) -> Path:
    """Makes key.pem and cert.pem for localhost; the certificate's path."""
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import NameOID

    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "localhost")])
    now = datetime.now(UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=2))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName("localhost")]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .sign(key, hashes.SHA256())
    )
    private = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    (folder / "key.pem").write_bytes(private)
    path = folder / "cert.pem"
    path.write_bytes(made.public_bytes(serialization.Encoding.PEM))
    return path


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@dataclass(kw_only=True)
class MailServer:
    """A running server; `deliver` puts mails into its folders from outside."""

    root: Path
    plain: int
    tls: int
    certificate: Path
    owner: int
    count: int = 0

    def deliver(self, folder: str, mails: Sequence[bytes], *, flags: str = "") -> None:
        """Puts mails into a Maildir folder (names as Dovecot's layout "fs" has them: modified UTF-7)."""
        from vault.intake.imap_names import encode_name

        place = self.root / "mail" / ("" if folder == "INBOX" else encode_name(folder).decode("ascii"))
        for part in ("cur", "new", "tmp"):
            (place / part).mkdir(parents=True, exist_ok=True)
        for raw in mails:
            self.count += 1
            (place / "cur" / f"{1_700_000_000 + self.count}.{self.count}.here:2,{flags}").write_bytes(raw)
        self._give()

    def _give(self) -> None:
        if os.geteuid() == 0:
            subprocess.run(
                ["chown", "-R", str(self.owner), str(self.root / "mail"), str(self.root / "home")], check=True
            )

    def flags(self) -> list[str]:
        """The flags of all mails as they stand in the names of their files, sorted: what a reader must not change."""
        return sorted(p.name.rpartition(":2,")[2] for p in (self.root / "mail").rglob("cur/*"))

    def log(self) -> str:
        return (self.root / "log").read_text(errors="replace") if (self.root / "log").exists() else ""


@contextlib.contextmanager
def running() -> Iterator[MailServer]:
    """Starts a server and ends it."""
    assert DOVECOT is not None
    # Thousands of small files: in memory, where the system has such a place.
    memory = Path("/dev/shm")
    place = memory if memory.is_dir() and os.access(memory, os.W_OK) else None
    root = Path(tempfile.mkdtemp(prefix="pinfold-mail-", dir=place))
    root.chmod(0o755)
    process: subprocess.Popen[bytes] | None = None
    try:
        me = pwd.getpwuid(os.geteuid())
        owner = pwd.getpwnam("nobody") if os.geteuid() == 0 else me
        internal = (
            next((u for u in ("dovecot", "nobody") if _exists(u)), me.pw_name) if os.geteuid() == 0 else me.pw_name
        )
        plain, tls = free_port(), free_port()
        for part in ("run", "home", "mail/cur", "mail/new", "mail/tmp"):
            (root / part).mkdir(parents=True)
        path = certificate(root)
        (root / "users").write_text(f"{USER}:{{PLAIN}}{PASSWORD}\n", encoding="utf-8")
        config = _CONFIG.format(
            root=root,
            run=root / "run",
            log=root / "log",
            ssl="required",
            me=internal,
            group=_group(internal),
            owner=owner.pw_uid,
            owner_group=owner.pw_gid,
            plain=plain,
            tls=tls,
        )
        (root / "dovecot.conf").write_text(config, encoding="utf-8")
        server = MailServer(root=root, plain=plain, tls=tls, certificate=path, owner=owner.pw_uid)
        server._give()
        process = subprocess.Popen(
            [DOVECOT, "-F", "-c", str(root / "dovecot.conf")], stderr=subprocess.PIPE, start_new_session=True
        )
        _wait(server, process)
        yield server
    finally:
        if process is not None:
            process.terminate()
            with contextlib.suppress(subprocess.TimeoutExpired):
                process.wait(2)
            with contextlib.suppress(OSError):
                os.killpg(process.pid, signal.SIGKILL)  # whoever still talks to a client that went away
            process.wait(10)
            if process.stderr is not None:
                process.stderr.close()
        shutil.rmtree(root, ignore_errors=True)


def _exists(user: str) -> bool:
    try:
        pwd.getpwnam(user)
    except KeyError:
        return False
    return True


def _group(user: str) -> str:
    import grp

    return grp.getgrgid(pwd.getpwnam(user).pw_gid).gr_name


def _wait(server: MailServer, process: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + 60
    while time.monotonic() < until:
        if process.poll() is not None:
            assert process.stderr is not None
            raise RuntimeError(process.stderr.read().decode() + server.log())
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", server.tls), timeout=1):
            return
        time.sleep(0.05)
    raise RuntimeError(f"the mail server does not answer: {server.log()}")


class Cutting:
    """A door in front of the server that lets through so many bytes of answers and then breaks off, a few times."""

    def __init__(self, to: int, cuts: Sequence[int]) -> None:
        self._to, self._cuts = to, list(cuts)
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port = int(self._listener.getsockname()[1])
        self.broken = 0
        threading.Thread(target=self._serve, daemon=True).start()

    def close(self) -> None:
        self._listener.close()

    def _serve(self) -> None:
        with contextlib.suppress(OSError):
            while True:
                near, _ = self._listener.accept()
                far = socket.create_connection(("127.0.0.1", self._to))
                left = self._cuts.pop(0) if self._cuts else None
                threading.Thread(target=self._pass, args=(near, far, None), daemon=True).start()
                threading.Thread(target=self._pass, args=(far, near, left), daemon=True).start()

    def _pass(self, here: socket.socket, there: socket.socket, left: int | None) -> None:
        with contextlib.suppress(OSError):
            while data := here.recv(65536):
                if left is not None:
                    left -= len(data)
                    if left < 0:
                        self.broken += 1
                        break
                there.sendall(data)
        for end in (here, there):
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()
