"""Where files were downloaded from, as the three systems keep it."""

from __future__ import annotations

import os
import plistlib
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.intake.origin import Origin, from_where_froms, from_zone_identifier, origin_of

URL = "https://thimblewick.example/download/42?token=abc"
REFERRER = "https://thimblewick.example/account"


@pytest.mark.skipif(sys.platform != "linux", reason="extended attributes as Linux names them")
def test_linux_extended_attributes(tmp_path: Path) -> None:
    path = tmp_path / "skirt.pdf"
    path.write_bytes(b"x")
    assert origin_of(path) == Origin()
    try:
        os.setxattr(path, "user.xdg.origin.url", URL.encode())
        os.setxattr(path, "user.xdg.referrer.url", REFERRER.encode())
    except OSError:
        pytest.skip("this file system keeps no extended attributes")
    assert origin_of(path) == Origin(url=URL, referrer=REFERRER)


@pytest.mark.parametrize(
    ("raw", "origin"),
    [
        (
            f"[ZoneTransfer]\r\nZoneId=3\r\nReferrerUrl={REFERRER}\r\nHostUrl={URL}\r\n".encode(),
            Origin(url=URL, referrer=REFERRER),
        ),
        (b"[ZoneTransfer]\r\nZoneId=3\r\n", Origin()),
        (b"[ZoneTransfer]\nZoneId=3\nHostUrl=about:internet\n", Origin()),
        (b"\xef\xbb\xbf[ZoneTransfer]\nHOSTURL=https://a.example/\x1b[31m\n", Origin(url="https://a.example/[31m")),
        (b"\xff\xfe\0" * 50, Origin()),
    ],
)
def test_windows_zone_identifier(raw: bytes, origin: Origin) -> None:
    assert from_zone_identifier(raw) == origin


@pytest.mark.parametrize(
    ("value", "origin"),
    [
        ([URL, REFERRER], Origin(url=URL, referrer=REFERRER)),
        ([URL], Origin(url=URL)),
        ([], Origin()),
        ({"a": 1}, Origin()),
        ([URL + "x" * 9999], Origin()),
    ],
)
def test_macos_where_froms(value: object, origin: Origin) -> None:
    assert from_where_froms(plistlib.dumps(value, fmt=plistlib.FMT_BINARY)) == origin


@settings(deadline=None, max_examples=100)
@given(st.binary(max_size=200))
def test_any_bytes_are_no_error(raw: bytes) -> None:
    assert isinstance(from_where_froms(b"bplist00" + raw), Origin)
    assert isinstance(from_zone_identifier(raw), Origin)


def test_a_file_that_is_gone_has_no_origin(tmp_path: Path) -> None:
    assert origin_of(tmp_path / "gone") == Origin()
