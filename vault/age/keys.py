"""Keys as text: one key, or a file of keys with comments and blank lines as `age-keygen` writes it.

A text is told by its Bech32 prefix, in one table per direction.  An identity must be upper case and a recipient lower
case, as the format writes them.  Messages say what is wrong with an identity without repeating it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TypeVar

from vault.age import bech32, hybrid, x25519
from vault.age.errors import KeyTextError
from vault.age.hybrid import HybridIdentity, HybridRecipient
from vault.age.x25519 import X25519Identity, X25519Recipient

KeyIdentity = X25519Identity | HybridIdentity
KeyRecipient = X25519Recipient | HybridRecipient
_Key = TypeVar("_Key")

_IDENTITIES: dict[str, Callable[[bytes], KeyIdentity]] = {
    x25519.IDENTITY_PREFIX: lambda data: X25519Identity(secret=data),
    hybrid.IDENTITY_PREFIX: lambda data: HybridIdentity(seed=data),
}
_RECIPIENTS: dict[str, Callable[[bytes], KeyRecipient]] = {
    x25519.RECIPIENT_PREFIX: lambda data: X25519Recipient(public=data),
    hybrid.RECIPIENT_PREFIX: lambda data: HybridRecipient(public=data),
}
# Beginnings of texts that a person may well have at hand, and what they are instead.
_FOREIGN: dict[str, str] = {
    "AGE-PLUGIN-": "a key of an age plugin, which this program does not run",
    "age1tag1": "a public key of a hardware plugin, which this program does not run",
    "age1tagpq1": "a public key of a hardware plugin, which this program does not run",
    "ssh-": "an SSH key, which this program does not use",
    "-----BEGIN OPENSSH": "an SSH key, which this program does not use",
    "-----BEGIN AGE": "an encrypted age file, not a key: decrypt it first",
    "age-encryption.org/": "an encrypted age file, not a key: decrypt it first",
}
_IDENTITY_STEP = "a secret key begins with 'AGE-SECRET-KEY-1' or 'AGE-SECRET-KEY-PQ-1', all in capitals"
_RECIPIENT_STEP = "a public key begins with 'age1' or 'age1pq1', all in small letters"


def parse_identity(text: str) -> KeyIdentity:
    """The identity that `text` (blanks around it ignored) spells.  Raises KeyTextError."""
    text = text.strip()
    if text.startswith(x25519.RECIPIENT_PREFIX + "1"):
        raise KeyTextError("this is a public key, which cannot open anything", _IDENTITY_STEP)
    return _parse(text, _IDENTITIES, "the secret key", _IDENTITY_STEP)


def parse_recipient(text: str) -> KeyRecipient:
    """The recipient that `text` (blanks around it ignored) spells.  Raises KeyTextError."""
    text = text.strip()
    if text.upper().startswith(x25519.IDENTITY_PREFIX):
        raise KeyTextError("this is a secret key, but a public key is wanted", _RECIPIENT_STEP)
    return _parse(text, _RECIPIENTS, f"the public key {_short(text)!r}", _RECIPIENT_STEP)


def parse_identities(text: str) -> tuple[KeyIdentity, ...]:
    """The identities of an identity file, in its order.  Raises KeyTextError, also when there is none."""
    return _parse_file(text, parse_identity, "secret")


def parse_recipients(text: str) -> tuple[KeyRecipient, ...]:
    """The recipients of a recipients file, in its order.  Raises KeyTextError, also when there is none."""
    return _parse_file(text, parse_recipient, "public")


def identity_file(identity: KeyIdentity, *, created: str = "") -> str:
    """`identity` as the text of an identity file; `created` is a date for its comment.  Raises ResourceError."""
    lines = [f"# created: {created}"] if created else []
    lines += [f"# public key: {identity.recipient().to_text()}", identity.to_text()]
    return "\n".join(lines) + "\n"


def _parse(text: str, table: Mapping[str, Callable[[bytes], _Key]], what: str, next_step: str) -> _Key:
    for beginning, kind in _FOREIGN.items():
        if text.startswith(beginning):
            raise KeyTextError(f"{what} is {kind}", next_step)
    try:
        prefix, data = bech32.decode(text)
        make = table.get(prefix)
        if make is None:
            raise ValueError("is of an unknown kind")
        return make(data)
    except bech32.Bech32Error as error:
        raise KeyTextError(f"{what} {error}", next_step) from error
    except ValueError as error:
        raise KeyTextError(f"{what} is none of age: {error}", next_step) from error


def _parse_file(text: str, parse: Callable[[str], _Key], what: str) -> tuple[_Key, ...]:
    keys = []
    for number, line in _key_lines(text):
        try:
            keys.append(parse(line))
        except KeyTextError as error:
            raise KeyTextError(f"line {number}: {error.message}", error.next_step) from error
    if not keys:
        raise KeyTextError(f"there is no {what} key in the text", f"it needs a line with a {what} key")
    return tuple(keys)


def _key_lines(text: str) -> Iterator[tuple[int, str]]:
    for number, line in enumerate(text.removeprefix("\ufeff").splitlines(), start=1):
        if line.strip() and not line.startswith("#"):
            yield number, line


def _short(text: str) -> str:
    return text if len(text) <= 70 else text[:30] + "..." + text[-8:]
