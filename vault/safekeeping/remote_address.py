"""Addresses of remote destinations, and the libraries that lead there."""

from __future__ import annotations

import importlib
import ipaddress
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

from vault.errors import BackupError, UsageError

_EXTRAS = {"paramiko": "sftp", "webdav4.client": "webdav", "obstore": "s3"}


@dataclass(frozen=True, kw_only=True)
class Address:
    """The parts of an address; `shown` is the whole, without anything secret."""

    host: str
    path: str
    shown: str
    user: str = ""
    port: int | None = None


def parsed(text: str, *kinds: str) -> Address:
    """The parts of `text`.  UsageError where it is none of these kinds, names no host, or holds a password."""
    try:
        parts = urlsplit(text)
        port = parts.port
    except ValueError as error:
        raise UsageError(f"not an address: {text!r}", f"write it as {kinds[0]}://user@host/folder") from error
    if parts.scheme not in kinds or not parts.hostname or parts.query or parts.fragment:
        raise UsageError(f"not an address: {text!r}", f"write it as {kinds[0]}://user@host/folder")
    if parts.password is not None:
        raise UsageError(
            "a password does not belong into an address: others can see it there",
            f"leave it out, and keep it in the keyring: keyring set pinfold {parts.scheme}://{parts.hostname}",
        )
    return Address(
        host=parts.hostname,
        path=parts.path.rstrip("/"),
        shown=text.rstrip("/"),
        user=parts.username or "",
        port=port,
    )


def is_loopback(host: str) -> bool:
    """Whether a host is this computer."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def need(module: str, name: str) -> Any:
    """The library that leads to such a destination; BackupError with what to install if it is not there."""
    try:
        return importlib.import_module(module)
    except ImportError as error:
        extra = _EXTRAS[module]
        raise BackupError(
            f"{name} needs a library that is not installed", f"pip install 'pinfold[{extra}]'", code="library"
        ) from error
