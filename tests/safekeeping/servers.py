"""Real servers on loopback for the tests of remote destinations: OpenSSH, WsgiDAV, moto's S3.

Each is started once for a test run, on a port that was free, and ended with it.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

SECRET = "four gulls over a cold harbour"


@dataclass(frozen=True, kw_only=True)
class Running:
    """A server: its address (a new folder of it is made by adding a name), its process, what the client needs."""

    address: str
    process: subprocess.Popen[bytes]
    environment: dict[str, str]
    folder: Path | None = None  # what it serves, where that is a folder here


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def wait_for(port: int, process: subprocess.Popen[bytes], seconds: float = 60) -> None:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if process.poll() is not None:
            raise RuntimeError(f"the server ended with {process.returncode}")
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=1):
            return
        time.sleep(0.1)
    raise RuntimeError("the server does not answer")


@contextlib.contextmanager
def ended(process: subprocess.Popen[bytes]) -> Iterator[None]:
    try:
        yield
    finally:
        process.terminate()
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def private(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    path.chmod(0o600)
    return path


@contextlib.contextmanager
def sshd(root: Path) -> Iterator[Running]:
    """OpenSSH's server with its own keys; the client's known hosts stand in a home folder made for it."""
    program = shutil.which("sshd", path=os.pathsep.join([os.environ.get("PATH", ""), "/usr/sbin"]))
    keygen = shutil.which("ssh-keygen")
    if program is None or keygen is None:
        raise FileNotFoundError("OpenSSH's server is not installed")
    port = free_port()
    home, served = root / "home", root / "served"
    (home / ".ssh").mkdir(parents=True)
    served.mkdir()
    for name in ("host", "client"):
        subprocess.run([keygen, "-q", "-t", "ed25519", "-N", "", "-f", str(root / name)], check=True)
    private(root / "authorized", (root / "client.pub").read_text())
    key = (root / "host.pub").read_text().split()[:2]
    private(home / ".ssh" / "known_hosts", f"[127.0.0.1]:{port} {' '.join(key)}\n")
    config = private(
        root / "sshd_config",
        f"Port {port}\nListenAddress 127.0.0.1\nHostKey {root / 'host'}\nPidFile none\nStrictModes no\n"
        f"AuthorizedKeysFile {root / 'authorized'}\nPasswordAuthentication no\nUsePAM no\n"
        "Subsystem sftp internal-sftp\n",
    )
    if os.geteuid() == 0:
        Path("/run/sshd").mkdir(parents=True, exist_ok=True)  # where it locks its unprivileged half in
    user = subprocess.run(["id", "-un"], capture_output=True, text=True, check=True).stdout.strip()
    credentials = private(
        root / "credentials.toml", f'["sftp://{user}@127.0.0.1:{port}"]\nkey_file = "{root / "client"}"\n'
    )
    with (root / "log").open("wb") as log:
        process = subprocess.Popen([program, "-D", "-e", "-f", str(config)], stderr=log, stdin=subprocess.DEVNULL)
    with ended(process):
        wait_for(port, process)
        yield Running(
            address=f"sftp://{user}@127.0.0.1:{port}{served}",
            process=process,
            environment={"HOME": str(home), "PINFOLD_CREDENTIALS": str(credentials)},
            folder=served,
        )


_DAV = """
import sys
from cheroot import wsgi
from wsgidav.wsgidav_app import WsgiDAVApp
served, port, secret = sys.argv[1], int(sys.argv[2]), sys.argv[3]
app = WsgiDAVApp({"provider_mapping": {"/": served}, "logging": {"enable": False}, "verbose": 0,
    "simple_dc": {"user_mapping": {"*": {"wardrobe": {"password": secret}}}}})
wsgi.Server(("127.0.0.1", port), app).start()
"""


@contextlib.contextmanager
def webdav(root: Path) -> Iterator[Running]:
    """WsgiDAV with a password, without TLS: it is this computer."""
    port, served = free_port(), root / "served"
    served.mkdir(parents=True)
    credentials = private(root / "credentials.toml", f'["webdav://wardrobe@127.0.0.1:{port}"]\npassword = "{SECRET}"\n')
    process = subprocess.Popen(
        [sys.executable, "-c", _DAV, str(served), str(port), SECRET],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    with ended(process):
        wait_for(port, process)
        yield Running(
            address=f"webdav://wardrobe@127.0.0.1:{port}",
            process=process,
            environment={"PINFOLD_CREDENTIALS": str(credentials)},
            folder=served,
        )


@contextlib.contextmanager
def s3(root: Path) -> Iterator[Running]:
    """moto's server with one bucket."""
    port = free_port()
    root.mkdir(parents=True, exist_ok=True)
    credentials = private(
        root / "credentials.toml",
        f'["s3://players"]\nendpoint = "http://127.0.0.1:{port}"\nregion = "us-east-1"\n'
        'access_key_id = "tests"\nsecret_access_key = "tests"\n',
    )
    process = subprocess.Popen(
        [sys.executable, "-m", "moto.server", "-H", "127.0.0.1", "-p", str(port)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    with ended(process):
        wait_for(port, process)
        import urllib.request

        urllib.request.urlopen(
            urllib.request.Request(f"http://127.0.0.1:{port}/players", method="PUT"), timeout=30
        ).close()
        yield Running(address="s3://players", process=process, environment={"PINFOLD_CREDENTIALS": str(credentials)})


SERVERS = {"sftp": sshd, "webdav": webdav, "s3": s3}
