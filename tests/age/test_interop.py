"""Files go both ways between this code, the `age` program and PyPI `pyrage`.

Neither of the two knows post-quantum keys in the versions at hand, and neither agrees with all published vectors, so
they are second readers here and the vectors are the judge.  pyrage writes passphrase files with a work factor that
depends on the machine, so it only reads ours.
"""

from __future__ import annotations

import io
import os
import shutil
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

from tests.age.vectors import IDENTITY, RECIPIENT
from vault.age import (
    ScryptIdentity,
    ScryptRecipient,
    X25519Identity,
    decrypt,
    encrypt,
    header_size,
    identity_file,
    parse_identities,
    payload_size,
)

AGE = shutil.which("age")
KEYGEN = shutil.which("age-keygen")
needs_age = pytest.mark.skipif(AGE is None or KEYGEN is None, reason="age and age-keygen are not installed")
SIZES = [0, 1, 65535, 65536, 65537, 131072, 1_100_000]
PASSPHRASE = "kettle-thimble-ruffle"


@pytest.fixture
def pyrage() -> ModuleType:
    return pytest.importorskip("pyrage", reason="PyPI pyrage is not installed")


def sample(n_bytes: int) -> bytes:
    return (bytes(range(253)) * (n_bytes // 253 + 1))[:n_bytes]


def sealed(plaintext: bytes, *, armor: bool = False) -> bytes:
    out = io.BytesIO()
    encrypt(io.BytesIO(plaintext), out, [RECIPIENT], armor=armor)
    return out.getvalue()


def opened(data: bytes, identity: X25519Identity | ScryptIdentity = IDENTITY) -> bytes:
    out = io.BytesIO()
    decrypt(io.BytesIO(data), out, [identity])
    return out.getvalue()


@needs_age
class TestAgeProgram:
    @pytest.mark.parametrize("armor", [False, True], ids=["binary", "armor"])
    @pytest.mark.parametrize("n_bytes", SIZES)
    def test_it_reads_ours(self, n_bytes: int, armor: bool, tmp_path: Path) -> None:
        (tmp_path / "key.txt").write_text(identity_file(IDENTITY))
        run = subprocess.run(
            [str(AGE), "-d", "-i", str(tmp_path / "key.txt")],
            input=sealed(sample(n_bytes), armor=armor),
            capture_output=True,
            check=True,
        )
        assert run.stdout == sample(n_bytes)

    @pytest.mark.parametrize("armor", [False, True], ids=["binary", "armor"])
    @pytest.mark.parametrize("n_bytes", SIZES)
    def test_we_read_its(self, n_bytes: int, armor: bool) -> None:
        other = X25519Identity.generate().recipient().to_text()
        command = [str(AGE), *(["-a"] if armor else []), "-r", other, "-r", RECIPIENT.to_text()]
        run = subprocess.run(command, input=sample(n_bytes), capture_output=True, check=True)
        assert opened(run.stdout) == sample(n_bytes)
        if not armor:
            assert len(run.stdout) == header_size([RECIPIENT, RECIPIENT]) + payload_size(n_bytes)

    def test_its_keys_are_ours(self, tmp_path: Path) -> None:
        made = subprocess.run([str(KEYGEN)], capture_output=True, check=True, text=True).stdout
        (identity,) = parse_identities(made)
        assert identity.recipient().to_text() in made
        (tmp_path / "key.txt").write_text(identity_file(identity))
        run = subprocess.run([str(KEYGEN), "-y", str(tmp_path / "key.txt")], capture_output=True, check=True, text=True)
        assert run.stdout.strip() == identity.recipient().to_text()

    @pytest.mark.skipif(sys.platform == "win32", reason="age asks for the passphrase on a terminal")
    def test_passphrase_both_ways(self, tmp_path: Path) -> None:
        ours, theirs, plain = tmp_path / "ours.age", tmp_path / "theirs.age", tmp_path / "plain"
        with ours.open("wb") as file:
            encrypt(io.BytesIO(b"plan"), file, [ScryptRecipient(passphrase=PASSPHRASE, log_n=10)])
        on_terminal([str(AGE), "-d", "-o", str(plain), str(ours)], answers=1)
        assert plain.read_bytes() == b"plan"
        on_terminal([str(AGE), "-p", "-o", str(theirs), str(plain)], answers=2)
        assert opened(theirs.read_bytes(), ScryptIdentity(passphrase=PASSPHRASE)) == b"plan"


def on_terminal(command: list[str], *, answers: int) -> None:
    """Run `command` with a terminal of its own, on which the passphrase is typed each time it is asked for."""
    import pty

    pid, terminal = pty.fork()
    if pid == 0:
        os.execv(command[0], command)
    shown = b""
    given = 0
    while True:
        try:
            data = os.read(terminal, 1024)
        except OSError:  # the terminal's other end was closed
            break
        if not data:
            break
        shown += data
        if given < answers and shown.count(b"passphrase") > given and shown.rstrip().endswith(b":"):
            os.write(terminal, PASSPHRASE.encode() + b"\n")
            given += 1
    _, status = os.waitpid(pid, 0)
    os.close(terminal)
    assert os.waitstatus_to_exitcode(status) == 0, shown


class TestPyrage:
    @pytest.mark.parametrize("armor", [False, True], ids=["binary", "armor"])
    @pytest.mark.parametrize("n_bytes", SIZES)
    def test_both_ways(self, n_bytes: int, armor: bool, pyrage: ModuleType) -> None:
        identity = pyrage.x25519.Identity.from_str(IDENTITY.to_text())
        recipient = pyrage.x25519.Recipient.from_str(RECIPIENT.to_text())
        assert str(identity.to_public()) == RECIPIENT.to_text()
        assert pyrage.decrypt(sealed(sample(n_bytes), armor=armor), [identity]) == sample(n_bytes)
        theirs = pyrage.encrypt(sample(n_bytes), [recipient], armored=armor)
        assert opened(theirs) == sample(n_bytes)
        if not armor:
            # It adds a random grease stanza to the header; the payload part follows the size law.
            assert theirs[-payload_size(n_bytes) - 1 :].startswith(b"\n")

    def test_its_keys_are_ours(self, pyrage: ModuleType) -> None:
        identity = pyrage.x25519.Identity.generate()
        (ours,) = parse_identities(str(identity))
        assert ours.recipient().to_text() == str(identity.to_public())

    def test_it_reads_our_passphrase_file(self, pyrage: ModuleType) -> None:
        out = io.BytesIO()
        encrypt(io.BytesIO(b"plan"), out, [ScryptRecipient(passphrase=PASSPHRASE, log_n=10)])
        assert pyrage.passphrase.decrypt(out.getvalue(), PASSPHRASE) == b"plan"
