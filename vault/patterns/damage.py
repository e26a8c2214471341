"""Whole or not: what the bytes of a PDF tell before and after it is opened.

A download that broke off lacks its end: no `startxref` and `%%EOF` after the last object, or fewer bytes than a
linearised file announces (/L, Annex F of ISO 32000-1).  A file whose cross-reference table is merely wrong is not
damaged: every reader rebuilds it.  An error page saved under the name of the pattern is told by its first bytes.
"""

from __future__ import annotations

import re

_TAIL = 2_048
_LINEARIZED_RE = re.compile(rb"/Linearized\b[^>]{0,400}?/L\s+(\d{1,12})|/L\s+(\d{1,12})\b[^>]{0,400}?/Linearized\b")
_MARKUP = (b"<!doctype", b"<html", b"<head", b"<body", b"<?xml", b"<script", b"<center", b"<h1", b"<title", b"<error")


def looks_like_error_page(head: bytes) -> bool:
    """Whether bytes that should be a PDF are markup or a JSON message, as servers send instead of a file."""
    start = head.lstrip(b"\xef\xbb\xbf \t\r\n\0")[:512].lower()
    if start.startswith(_MARKUP):
        return True
    return start.startswith(b"{") and re.search(rb'"(error|message|status|code|detail)"\s*:', start) is not None


def unopened_reason(data: bytes) -> str:
    """Why a file named as a PDF is none, in a few words."""
    if not data:
        return "empty"
    if looks_like_error_page(data[:1024]):
        return "an error page, not a PDF"
    if not data.strip(b"\0"):
        return "nothing but zeros"
    if b"%PDF-" not in data[: 1024 * 64]:
        return "not a PDF"
    if is_cut_off(data):
        return "the end of the file is missing"
    return "it cannot be opened"


def is_cut_off(data: bytes) -> bool:
    """Whether the end of the file is missing."""
    announced = _LINEARIZED_RE.search(data[:2_048])
    if announced:
        length = int(announced[1] or announced[2])
        if len(data) < length - 16:
            return True
    body = data.rstrip(b"\0 \t\r\n\x1a")
    if len(data) - len(body) > 4_096 and not body.endswith(b"%%EOF"):
        return True  # the rest was reserved on the disk and never filled
    end = data.rfind(b"%%EOF")
    last_object = max(data.rfind(b"endobj"), data.rfind(b"endstream"), data.rfind(b" obj"))
    if end < 0:
        return data.rfind(b"startxref", max(last_object, 0)) < 0
    return last_object > end
