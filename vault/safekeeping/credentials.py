"""What opens a remote destination: from the system's keyring or a file of hers, never from the vault or a command line.

The file is TOML, one table for each address (the longest address that a destination begins with is taken):

    ["sftp://wardrobe@attic.example"]
    password = "..."            # or key_file = "/home/wardrobe/.ssh/id_ed25519"

    ["s3://players-patterns"]
    access_key_id = "..."
    secret_access_key = "..."
    endpoint = "https://objects.example"
    region = "eu-1"

It is `credentials.toml` in the folder of the system for settings of programs, or what `PINFOLD_CREDENTIALS` names.
"""

from __future__ import annotations

import os
import stat
import tomllib
from pathlib import Path

from vault.errors import BackupError

SERVICE = "pinfold"  # under which the keyring keeps passwords; the user name there is the address
_MAX_BYTES = 1 << 20


def credentials_path() -> Path:
    """Where the file of credentials is looked for."""
    named = os.environ.get("PINFOLD_CREDENTIALS")
    if named:
        return Path(named)
    from platformdirs import user_config_path

    return user_config_path("pinfold", appauthor=False) / "credentials.toml"


def credentials_for(address: str) -> dict[str, str]:
    """All that is known for an address without its secrets: from the file first, then the keyring; may be empty.

    Raises BackupError where the file is there but unfit.
    """
    found = _from_file(credentials_path(), address)
    if found:
        return found
    secret = _from_keyring(address)
    return {"password": secret} if secret else {}


def _from_file(path: Path, address: str) -> dict[str, str]:
    try:
        status = path.stat()
        content = path.read_bytes() if status.st_size <= _MAX_BYTES else b"\xff"
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise BackupError(f"{path} cannot be read ({error.strerror})", "check the file", code="credentials") from error
    if os.name == "posix" and status.st_mode & (stat.S_IRWXG | stat.S_IRWXO):
        raise BackupError(
            f"{path} can be read by others on this computer",
            f"make it yours alone: chmod 600 '{path}'",
            code="credentials",
        )
    try:
        table = tomllib.loads(content.decode("utf-8"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise BackupError(f"{path} is no TOML file", f"mend it: {error}", code="credentials") from error
    fitting = [key for key in table if _covers(key, address) and isinstance(table[key], dict)]
    if not fitting:
        return {}
    return {str(k): str(v) for k, v in table[max(fitting, key=len)].items()}


def _covers(key: str, address: str) -> bool:
    key = key.rstrip("/")
    return address == key or address.startswith(f"{key}/")


def _from_keyring(address: str) -> str | None:
    """The password that the keyring has for the address or for one it lies under."""
    try:
        import keyring
        from keyring.errors import KeyringError
    except ImportError:
        return None
    tried = address.rstrip("/")
    while "://" in tried and not tried.endswith("://"):
        try:
            secret = keyring.get_password(SERVICE, tried)
        except KeyringError:
            return None
        if secret:
            return secret
        head, _, _ = tried.rpartition("/")
        if head.endswith(("/", ":")) or head == tried:
            break
        tried = head
    return None
