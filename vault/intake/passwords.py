"""Passwords of mail accounts: in the system's own keyring, through the `keyring` library where that is installed.

A password is never written anywhere else: not into the vault, not into its settings, not into a command line.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from vault.model.source import Source

_SERVICE = "pinfold mail"


@dataclass(frozen=True, kw_only=True)
class Keyring:
    """The system's keyring.  `usable` is False where the library is not installed or finds no keyring."""

    backend: Any = None

    @classmethod
    def here(cls) -> Keyring:
        """The keyring of this system."""
        try:
            import keyring
            from keyring.backends import fail, null

            backend = keyring.get_keyring()
        except Exception:  # noqa: BLE001 - a desktop without its keyring fails in ways of its own; then she is asked
            return cls()
        return cls() if isinstance(backend, fail.Keyring | null.Keyring) else cls(backend=backend)

    @property
    def usable(self) -> bool:
        """Whether passwords can be kept here."""
        return self.backend is not None

    def password(self, source: Source) -> str | None:
        """The kept password of an account; None: there is none, or the keyring stays shut."""
        found = self._try("get_password", source)
        return found if isinstance(found, str) else None

    def keep(self, source: Source, password: str) -> bool:
        """Keeps a password.  False where the keyring refuses."""
        return self._try("set_password", source, password) is not None

    def forget(self, source: Source) -> None:
        """Forgets a password, if there is one."""
        self._try("delete_password", source)

    def _try(self, what: str, source: Source, *more: str) -> Any:
        if self.backend is None:
            return None
        try:
            answer = getattr(self.backend, what)(f"{_SERVICE} {source.place}", source.user or "", *more)
        except Exception:  # noqa: BLE001 - locked, refused, gone: each backend says it in its own way; then she is asked
            return None
        return True if what == "set_password" else answer
