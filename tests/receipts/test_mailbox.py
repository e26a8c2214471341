"""Mailbox files: RFC 4155, false `From ` lines (trap 12 of the standard library), any chunking, constant memory."""

from __future__ import annotations

import io
import tracemalloc
from typing import BinaryIO, cast

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.receipts import mailbox
from vault.receipts.mailbox import is_maildir, is_mbox, looks_like_mail, split_mbox

FROM = "From shop@larch.example Fri Jul  8 12:08:34 2011\n"
FROM_LINES = [
    FROM,
    "From - Tue Jan 01 00:00:00 2019\n",
    "From 1782345678901234567@xxx Mon Jan 01 12:00:00 +0000 2019\n",
    "From MAILER-DAEMON Fri Jul  8 12:08:34 2011\n",
    "From ada@post.example  Mon, 4 Mar 2024 10:00:00 +0100\n",
    "From \"a b\"@post.example Sat Nov 29 09:21:00 MET 2003\n",
]  # fmt: skip


def mail(n: int, body: str = "hello\n") -> str:
    return f"From: a{n}@b.example\nSubject: mail {n}\nDate: Fri, 8 Jul 2011 12:08:34 +0000\n\n{body}"


def split(text: str | bytes) -> list[bytes]:
    raw = text.encode() if isinstance(text, str) else text
    return [message for _, message in split_mbox(io.BytesIO(raw))]


@pytest.mark.parametrize("line", FROM_LINES)
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_from_lines_of_many_programs(line: str, ending: str) -> None:
    text = (line + mail(1) + "\n" + line + mail(2) + "\n").replace("\n", ending)
    assert split(text) == [mail(1).replace("\n", ending).encode(), mail(2).replace("\n", ending).encode()]
    assert is_mbox(text.encode())


@pytest.mark.parametrize(
    "body",
    [
        "From Russia with love\n",
        "\nFrom Russia with love\n",
        "\nFrom next Fri the shop is closed\nSee you\n",
        "\nFrom me, Fri Jul  8 12:08:34 2011\nno field below\n",
        ">From the shelf\n\n>From shop@x.example Fri Jul  8 12:08:34 2011\nFrom: quoted\n",
        "From: not a separator\n",
    ],
)
def test_false_from_lines_do_not_split(body: str) -> None:
    text = FROM + mail(1, body) + "\n" + FROM + mail(2) + "\n"
    assert split(text) == [mail(1, body).encode(), mail(2).encode()]


def test_a_missing_blank_line_and_a_lost_start() -> None:
    assert split(FROM + mail(1) + FROM + mail(2)) == [mail(1).encode(), mail(2).encode()]
    assert split(mail(1) + "\n" + FROM + mail(2)) == [mail(1).encode(), mail(2).encode()]
    assert split("") == []
    assert split("\n\n" + FROM + mail(1) + "\n\n") == [mail(1).encode() + b"\n"]


class Dripping(io.RawIOBase):
    """A stream that gives a few bytes at a time."""

    def __init__(self, data: bytes, step: int) -> None:
        super().__init__()
        self.data, self.step, self.position = data, step, 0

    def readable(self) -> bool:
        return True

    def read(self, size: int = -1, /) -> bytes:
        piece = self.data[self.position : self.position + self.step]
        self.position += len(piece)
        return piece


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.text(alphabet="aF rom\n>:", max_size=60), min_size=1, max_size=6),
    st.sampled_from([1, 7, 64, 1000]),
    st.booleans(),
)
def test_every_message_comes_back_whatever_the_chunks(bodies: list[str], step: int, crlf: bool) -> None:
    ending = "\r\n" if crlf else "\n"
    mails = [mail(n, body + "\n").replace("\n", ending).encode() for n, body in enumerate(bodies)]
    raw = b"".join(FROM.replace("\n", ending).encode() + m + ending.encode() for m in mails)
    stream = cast("BinaryIO", Dripping(raw, step))
    assert list(split_mbox(stream)) == list(enumerate(mails, start=1))


@settings(deadline=None, max_examples=100)
@given(st.binary(max_size=400))
def test_any_bytes(raw: bytes) -> None:
    list(split_mbox(io.BytesIO(raw)))
    is_mbox(raw)
    looks_like_mail(raw)


class Endless(io.RawIOBase):
    """A mailbox of `n` mails that is never in memory as a whole."""

    def __init__(self, n: int, unit: bytes) -> None:
        super().__init__()
        self.n, self.unit = n, unit

    def readable(self) -> bool:
        return True

    def read(self, size: int = -1, /) -> bytes:
        if not self.n:
            return b""
        self.n -= 1
        return self.unit


def test_memory_is_that_of_one_message() -> None:
    unit = (FROM + mail(1, "x" * 70 + "\n") + "\n").encode() * 100
    tracemalloc.start()
    count = sum(1 for _ in split_mbox(cast("BinaryIO", Endless(600, unit))))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert count == 60_000
    assert peak < 8 << 20


def test_a_message_over_the_limit_is_cut(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mailbox, "MAX_MESSAGE_BYTES", 2_000_000)
    raw = (FROM + mail(1, "y" * 6_000_000 + "\n") + "\n" + FROM + mail(2)).encode()
    first, second = split(raw)
    assert len(first) == 2_000_000
    assert second == mail(2).encode()


@pytest.mark.parametrize(
    ("head", "mbox", "one"),
    [
        (FROM + mail(1), True, True),
        (mail(1), False, True),
        ("Return-Path: <a@b.example>\nReceived: by x; 1 Jan 2020 00:00:00 +0000\n\tfor y\n\n", False, True),
        ("From here to there\nno mail\n", False, False),
        ("<html><head><title>Subject: x</title>", False, False),
        ("order,date,total\n1,2024-01-01,3.00\n", False, False),
        ("Note: a\nAlso: b\n\n", False, False),
        ("", False, False),
    ],
)
def test_what_a_file_is(head: str, mbox: bool, one: bool) -> None:
    assert is_mbox(head.encode()) is mbox
    assert looks_like_mail(head.encode()) is one


def test_maildir() -> None:
    assert is_maildir(["cur", "new", "tmp", ".Sent"])
    assert not is_maildir(["cur", "new"])
