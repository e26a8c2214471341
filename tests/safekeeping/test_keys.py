"""The key of the backups: locked, unlocked, and never more work than it is worth."""

from __future__ import annotations

import re
import time

import pytest

from vault.errors import BackupError, UsageError
from vault.safekeeping.keys import BackupKey, WrongPassphrase, key_of_text, lock_key, new_key, recipient_of, unlock_key

# C2SP age.md, the example identity and its recipient.
IDENTITY = "AGE-SECRET-KEY-1GFPYYSJZGFPYYSJZGFPYYSJZGFPYYSJZGFPYYSJZGFPYYSJZGFPQ4EGAEX"
RECIPIENT = "age1zvkyg2lqzraa2lnjvqej32nkuu0ues2s82hzrye869xeexvn73equnujwj"


def test_what_was_locked_is_unlocked() -> None:
    key = BackupKey(identities=(new_key().identities[0], IDENTITY))
    locked = lock_key(key, "bobbin", log_n=2)
    assert unlock_key(locked, "bobbin") == key
    assert key.recipients[1] == RECIPIENT == recipient_of(IDENTITY)
    assert b"AGE-SECRET" not in locked and new_key() != new_key()
    with pytest.raises(WrongPassphrase):
        unlock_key(locked, "Bobbin")


def test_the_usual_work_factor_is_that_of_age_tools() -> None:
    """As on a person's computer: about a second to try one passphrase."""
    locked = lock_key(BackupKey(identities=(IDENTITY,)), "bobbin")
    assert locked.split(b"\n")[1].split()[0:2] == [b"->", b"scrypt"] and locked.split(b"\n")[1].endswith(b" 18")


def test_a_key_that_asks_for_too_much_work_is_refused_at_once() -> None:
    locked = lock_key(BackupKey(identities=(IDENTITY,)), "bobbin", log_n=2)
    started = time.process_time()
    for factor in (b"21", b"63", b"9" * 1000):
        with pytest.raises(BackupError) as caught:
            unlock_key(re.sub(rb" 2\n", b" " + factor + b"\n", locked, count=1), "bobbin")
        assert caught.value.code == "damaged-key"
    assert time.process_time() - started < 2


@pytest.mark.parametrize("text", ["", "# nothing\n", "AGE-SECRET-KEY-1XYZ", RECIPIENT])
def test_what_is_no_key_is_refused(text: str) -> None:
    with pytest.raises(UsageError):
        key_of_text(text)
