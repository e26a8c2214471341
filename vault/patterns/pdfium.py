"""The fence around pdfium's C interface: the few calls the readers need, as Python values.

pypdfium2's own helper classes cost several Python objects for each glyph run; the raw calls are five times as
fast on a file of 120 tiles.  Everything that touches a pdfium pointer stands in this module, `pdf_text` and
`pdf_paths`.
"""

from __future__ import annotations

import ctypes
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from vault.patterns.pdf_page import IDENTITY, Matrix, multiply

TEXT, PATH, IMAGE, SHADING, FORM = 1, 2, 3, 4, 5
ERROR_PASSWORD, ERROR_SECURITY = 4, 5

_library: Any = None


def library() -> Any:
    """The raw pdfium binding, initialised once for the process."""
    global _library
    if _library is None:
        import pypdfium2  # its import initialises the library
        import pypdfium2.raw as raw

        del pypdfium2
        raw.FPDF_InitLibrary()
        _library = raw
    return _library


class PdfiumError(Exception):
    """pdfium would not open the bytes; `code` is its FPDF_ERR number."""

    def __init__(self, code: int) -> None:
        super().__init__(f"pdfium error {code}")
        self.code = code


@contextmanager
def opened(data: bytes) -> Iterator[Any]:
    """The document handle of the bytes.  Raises PdfiumError; a password is never tried."""
    raw = library()
    document = raw.FPDF_LoadMemDocument64(data, len(data), None)
    if not document:
        raise PdfiumError(int(raw.FPDF_GetLastError()))
    try:
        yield document
    finally:
        raw.FPDF_CloseDocument(document)


@contextmanager
def page_of(document: Any, index: int) -> Iterator[Any]:
    """A page handle, or None where the page cannot be loaded."""
    raw = library()
    page = raw.FPDF_LoadPage(document, index)
    try:
        yield page or None
    finally:
        if page:
            raw.FPDF_ClosePage(page)


@contextmanager
def text_of(page: Any) -> Iterator[Any]:
    """The text layer of a page, or None."""
    raw = library()
    text = raw.FPDFText_LoadPage(page)
    try:
        yield text or None
    finally:
        if text:
            raw.FPDFText_ClosePage(text)


def utf16(call: Callable[[Any, int], int]) -> str:
    """The string of a pdfium call that fills a buffer with UTF-16LE and returns its length in bytes."""
    length = int(call(None, 0))
    if length <= 2:
        return ""
    buffer = (ctypes.c_ushort * (length // 2 + 1))()
    call(buffer, length)
    return bytes(buffer)[: length - 2].decode("utf-16-le", "replace")


def narrow(call: Callable[[Any, int], int]) -> bytes:
    """The same for calls that fill a buffer of bytes ending in NUL."""
    length = int(call(None, 0))
    if length <= 1:
        return b""
    buffer = ctypes.create_string_buffer(length)
    call(buffer, length)
    return buffer.raw[: length - 1]


# Written by pdfium and read at once; pdfium is used by one thread at a time, so one set serves for all calls.
_LEFT, _BOTTOM, _RIGHT, _TOP = ctypes.c_float(), ctypes.c_float(), ctypes.c_float(), ctypes.c_float()
_matrix: Any = None


def matrix_of(page_object: Any) -> Matrix:
    """The object's own matrix."""
    global _matrix
    raw = library()
    if _matrix is None:
        _matrix = raw.FS_MATRIX()
    m = _matrix
    if not raw.FPDFPageObj_GetMatrix(page_object, m):
        return IDENTITY
    return (m.a, m.b, m.c, m.d, m.e, m.f)


def bounds_of(page_object: Any) -> tuple[float, float, float, float] | None:
    """Left, bottom, right, top of an object in the space of the page or form it stands in."""
    if not library().FPDFPageObj_GetBounds(page_object, _LEFT, _BOTTOM, _RIGHT, _TOP):
        return None
    return _LEFT.value, _BOTTOM.value, _RIGHT.value, _TOP.value


def objects_of(page: Any, *, at_most: int, depth: int) -> Iterator[tuple[Any, int, Matrix]]:
    """Every object of a page with its type and the matrix from its space to user space.

    Form XObjects are walked to `depth`; in all at most `at_most` objects are visited.
    """
    raw = library()
    left = at_most

    def walk(get: Callable[[int], Any], count: int, outer: Matrix, level: int) -> Iterator[tuple[Any, int, Matrix]]:
        nonlocal left
        for index in range(count):
            if left <= 0:
                return
            left -= 1
            page_object = get(index)
            if not page_object:
                continue
            kind = raw.FPDFPageObj_GetType(page_object)
            if kind == FORM:
                if level < depth:
                    inner = multiply(matrix_of(page_object), outer)
                    n = raw.FPDFFormObj_CountObjects(page_object)
                    yield from walk(_getter(raw.FPDFFormObj_GetObject, page_object), max(n, 0), inner, level + 1)
            else:
                yield page_object, kind, outer

    count = max(raw.FPDFPage_CountObjects(page), 0)
    yield from walk(_getter(raw.FPDFPage_GetObject, page), count, IDENTITY, 0)


def _getter(function: Callable[[Any, int], Any], holder: Any) -> Callable[[int], Any]:
    return lambda index: function(holder, index)
