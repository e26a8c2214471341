"""What can go wrong with an age file: one class per class of failure of the published test vectors.

All of them are `DecryptionError`s, so that a caller who does not care catches one family.  No message ever holds a
secret key, a passphrase or plaintext.
"""

from __future__ import annotations

from vault.errors import DecryptionError, UsageError


class HeaderError(DecryptionError):
    """The header breaks a rule of the format, or asks for what is refused (an scrypt work factor over the ceiling)."""

    code = "age-header"


class NoMatchError(DecryptionError):
    """The header is sound, but none of the identities (keys, passphrases) opens it."""

    code = "age-no-match"


class HmacError(DecryptionError):
    """A file key was found, but the header was changed after it had been written."""

    code = "age-hmac"


class PayloadError(DecryptionError):
    """The payload is truncated, altered or followed by something else.

    What had been released before this error is authentic, but it is not the whole file.
    """

    code = "age-payload"


class ArmorError(DecryptionError):
    """The ASCII armor breaks a rule of the format."""

    code = "age-armor"


class ResourceError(DecryptionError):
    """This machine or the installed library cannot do the work that the file asks for."""

    code = "age-resource"


class KeyTextError(UsageError):
    """A text is no identity or recipient that this program understands.  The message never repeats an identity."""

    code = "age-key"


NOT_WHOLE = "use another copy of the file: this one is damaged or is no age file"
"""The next step for a file that is broken whoever tries to open it."""
