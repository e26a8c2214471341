"""What a file is, by its bytes; its name only decides between what the bytes leave open.

Strategy: the signatures of everything the trade uses stand in one table and are looked at first; then what is text is
told apart by its structure (mail, mailbox, web page, drawing, table, plain text); puremagic names the rest, which is
passed over anyway.  Endings lie: an error page is saved as .pdf, a picture as .pdf, a mailbox has none.
"""

from __future__ import annotations

import codecs
import csv
import re
from dataclasses import dataclass
from enum import StrEnum

from vault.intake.names import ending

HEAD_BYTES = 64 * 1024


class FileKind(StrEnum):
    """What a file is as a thing; the route it takes through the import hangs on it."""

    EMPTY = "empty"
    MAIL = "mail"
    OUTLOOK_MAIL = "outlook-mail"
    MAILBOX = "mailbox"
    PAGE = "page"  # HTML, MHTML, webarchive
    PDF = "pdf"
    TABLE = "table"  # CSV and its kin
    SHEET = "sheet"  # xlsx
    TEXT = "text"
    ZIP = "zip"
    PICTURE = "picture"
    STITCHES = "stitches"
    CUTTING = "cutting"  # SVG, DXF, EPS and the like
    OFFICE = "office"
    ARCHIVE = "archive"  # packed in a way that is not opened here
    OTHER = "other"


@dataclass(frozen=True, kw_only=True)
class Sniffed:
    """What the bytes are."""

    kind: FileKind
    media_type: str


def _s(kind: FileKind, media_type: str) -> Sniffed:
    return Sniffed(kind=kind, media_type=media_type)


_K = FileKind
_PDF = _s(_K.PDF, "application/pdf")
_TEXT = _s(_K.TEXT, "text/plain")
_HTML = _s(_K.PAGE, "text/html")
_SVG = _s(_K.CUTTING, "image/svg+xml")
_MAIL = _s(_K.MAIL, "message/rfc822")

# (offset, bytes, what it is).  PDF has a place of its own: its signature may stand behind other bytes.
_SIGNATURES: tuple[tuple[int, bytes, Sniffed], ...] = (
    (0, b"PK\x03\x04", _s(_K.ZIP, "application/zip")),
    (0, b"PK\x05\x06", _s(_K.ZIP, "application/zip")),
    (0, b"PK00PK\x03\x04", _s(_K.ZIP, "application/zip")),
    (0, b"\x89PNG\r\n\x1a\n", _s(_K.PICTURE, "image/png")),
    (0, b"\xff\xd8\xff", _s(_K.PICTURE, "image/jpeg")),
    (0, b"GIF87a", _s(_K.PICTURE, "image/gif")),
    (0, b"GIF89a", _s(_K.PICTURE, "image/gif")),
    (0, b"II*\0", _s(_K.PICTURE, "image/tiff")),
    (0, b"MM\0*", _s(_K.PICTURE, "image/tiff")),
    (8, b"WEBP", _s(_K.PICTURE, "image/webp")),
    (4, b"ftypheic", _s(_K.PICTURE, "image/heic")),
    (4, b"ftypheix", _s(_K.PICTURE, "image/heic")),
    (4, b"ftypmif1", _s(_K.PICTURE, "image/heif")),
    (4, b"ftypavif", _s(_K.PICTURE, "image/avif")),
    (0, b"8BPS", _s(_K.PICTURE, "image/vnd.adobe.photoshop")),
    (0, b"#PES", _s(_K.STITCHES, "application/x-pes")),
    (0, b"#PEC", _s(_K.STITCHES, "application/x-pec")),
    (0, b"%vsm%", _s(_K.STITCHES, "application/x-vp3")),
    (0, b"[\xaf\xc8\0", _s(_K.STITCHES, "application/x-hus")),
    (0, b"]\xfc\x90\x01", _s(_K.STITCHES, "application/x-vip")),
    (0, b"AutoCAD Binary DXF", _s(_K.CUTTING, "image/vnd.dxf")),
    (0, b"%!PS", _s(_K.CUTTING, "application/postscript")),
    (0, b"\xc5\xd0\xd3\xc6", _s(_K.CUTTING, "application/postscript")),
    (0, b"Rar!\x1a\x07", _s(_K.ARCHIVE, "application/vnd.rar")),
    (0, b"7z\xbc\xaf\x27\x1c", _s(_K.ARCHIVE, "application/x-7z-compressed")),
    (0, b"\x1f\x8b", _s(_K.ARCHIVE, "application/gzip")),
    (0, b"BZh", _s(_K.ARCHIVE, "application/x-bzip2")),
    (0, b"\xfd7zXZ\0", _s(_K.ARCHIVE, "application/x-xz")),
    (257, b"ustar", _s(_K.ARCHIVE, "application/x-tar")),
    (0, b"SIT!", _s(_K.ARCHIVE, "application/x-stuffit")),
    (0, b"StuffIt", _s(_K.ARCHIVE, "application/x-stuffit")),
    (0, b"{\\rtf", _s(_K.OFFICE, "application/rtf")),
    (4, b"ftyp", _s(_K.OTHER, "video/mp4")),
    (0, b"MZ", _s(_K.OTHER, "application/x-msdownload")),
    (0, b"\x7fELF", _s(_K.OTHER, "application/x-executable")),
    (0, b"SQLite format 3\0", _s(_K.OTHER, "application/vnd.sqlite3")),
    (0, b"age-encryption.org/", _s(_K.OTHER, "application/x-age-encryption")),
)
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
# The stream that every Outlook message holds, as names stand in an OLE directory (UTF-16).
_OUTLOOK_STREAM = "__properties_version1.0".encode("utf-16-le")
_BPLIST = b"bplist00"
# Design files without a signature of their own: the ending is all there is (pyembroidery's table of formats).
_STITCH_ENDINGS = {
    f".{e}": f"application/x-{e}"
    for e in (
        *("jef", "exp", "dst", "xxx", "sew", "pcs", "pcd", "pcq", "pcm", "ksm", "emd", "csd", "10o"),
        *("dsb", "dsz", "phb", "phc", "shv", "zhs", "u01"),
    )
}
_TABLE_ENDINGS = (".csv", ".tsv", ".tab")
_PAGE_ENDINGS = (".html", ".htm", ".xhtml", ".mht", ".mhtml", ".webarchive")
_DST_RE = re.compile(rb"LA:[^\r\n]{0,40}\rST:")
_DXF_RE = re.compile(rb"\A(?:\s{0,8}999\r?\n[^\r\n]{0,400}\r?\n){0,20}\s{0,8}0\r?\n\s{0,8}SECTION\r?\n", re.IGNORECASE)
_HTML_RE = re.compile(
    rb"<(?:!doctype\s+html|html|head|body|table|div|meta|title|script|style|center|h1|p)[\s>]", re.IGNORECASE
)
_SVG_RE = re.compile(rb"<(?:!doctype\s+svg|(?:svg:)?svg[\s>])", re.IGNORECASE)
_MIME_PAGE_RE = re.compile(
    rb"^(?:snapshot-content-location:|content-type:\s*multipart/related|from:\s*<?saved by)",
    re.IGNORECASE | re.MULTILINE,
)
_BYTE_ORDER_MARKS = ((codecs.BOM_UTF8, "utf-8"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
_OPEN_XML = "application/vnd.openxmlformats-officedocument."


def sniff(head: bytes, name: str = "") -> Sniffed:
    """What a file is that begins with `head` (up to HEAD_BYTES) and is called `name`.

    A zip may still turn out to be an office document: `inside_zip` tells once its names are known.
    """
    if not head:
        return _s(_K.EMPTY, "application/x-empty")
    if head.startswith(b"%PDF-"):
        return _PDF
    if head.startswith(b"\x1f\x8b") and ending(name) == ".svgz":
        return _SVG
    for offset, signature, sniffed in _SIGNATURES:
        if head.startswith(signature, offset):
            return sniffed
    # Readers of ISO 32000 accept the signature within the first 1024 bytes; a mail or page may speak of it there.
    text = _text(head, name)
    if b"%PDF-" in head[:1024] and (text is None or text.kind is _K.TEXT):
        return _PDF
    if head.startswith(b"BM") and len(head) > 18 and head[14:18] in (b"\x28\0\0\0", b"\x7c\0\0\0", b"\x0c\0\0\0"):
        return _s(_K.PICTURE, "image/bmp")
    if head.startswith(_OLE):
        return _ole(head, name)
    if head.startswith(_BPLIST):
        page = b"WebMainResource" in head or ending(name) == ".webarchive"
        return _s(_K.PAGE if page else _K.OTHER, "application/x-webarchive" if page else "application/x-bplist")
    if _DST_RE.match(head):
        return _s(_K.STITCHES, "application/x-dst")
    return text or _by_ending(head, name)


def _ole(head: bytes, name: str) -> Sniffed:
    if _OUTLOOK_STREAM in head or ending(name) in (".msg", ".oft"):
        return _s(_K.OUTLOOK_MAIL, "application/vnd.ms-outlook")
    return _s(_K.OFFICE, "application/x-ole-storage")


def _text(head: bytes, name: str) -> Sniffed | None:
    """The kind of a file that is text, None if it is not."""
    from vault.receipts.mailbox import is_mbox, looks_like_mail

    plain = _as_ascii_like(head)
    if plain is None:
        return None
    start = plain.lstrip()
    if _DXF_RE.match(plain):
        return _s(_K.CUTTING, "image/vnd.dxf")
    if start.startswith(b"<"):
        return _markup(start)
    if is_mbox(plain):
        return _s(_K.MAILBOX, "application/mbox")
    if looks_like_mail(plain):
        fields = plain.replace(b"\r\n", b"\n").split(b"\n\n", 1)[0]
        saved = ending(name) in _PAGE_ENDINGS or b"snapshot-content-location:" in fields.lower()
        return _s(_K.PAGE, "multipart/related") if saved else _MAIL
    if ending(name) in _PAGE_ENDINGS and _MIME_PAGE_RE.search(plain[:4096]):
        return _s(_K.PAGE, "multipart/related")
    if ending(name) in _PAGE_ENDINGS and _HTML_RE.search(plain):
        return _HTML
    if _is_table(plain, name):
        return _s(_K.TABLE, "text/csv")
    return _TEXT


def _as_ascii_like(head: bytes) -> bytes | None:
    """`head` in an encoding where ASCII is ASCII, or None for what is no text."""
    for mark, encoding in _BYTE_ORDER_MARKS:
        if head.startswith(mark):
            return head.decode(encoding, "ignore").encode("utf-8", "ignore").removeprefix(codecs.BOM_UTF8)
    sample = head[:8192]
    if b"\0" in sample:
        return None
    # Escape (ISO-2022-JP), tab, line ends and form feed are text; a handful of others may have slipped in.
    strange = sum(sample.count(bytes([c])) for c in range(32) if c not in (8, 9, 10, 12, 13, 26, 27))
    return head if strange <= len(sample) // 200 else None


def _markup(start: bytes) -> Sniffed:
    """HTML, SVG or another markup, by the first element that tells."""
    window = start[:16_384]
    svg, page = _SVG_RE.search(window), _HTML_RE.search(window)
    if svg and not (page and page.start() < svg.start()):
        return _SVG
    if page:
        return _HTML
    return _s(_K.OTHER, "application/xml") if start.startswith(b"<?xml") else _TEXT


def _is_table(plain: bytes, name: str) -> bool:
    """Whether lines fall into the same number of cells.  Without an ending that says so, it takes more of both."""
    named = ending(name) in _TABLE_ENDINGS
    least_cells, least_lines, least_share = (2, 1, 0.5) if named else (4, 3, 0.8)
    lines = plain.decode("utf-8", "replace").splitlines()
    if len(plain) >= HEAD_BYTES and len(lines) > 1:
        lines.pop()  # cut in the middle
    lines = [line for line in lines[:40] if line.strip()]
    return any(_falls_into(lines, d, least_cells, least_lines, least_share) for d in ";\t,|")


def _falls_into(lines: list[str], delimiter: str, least_cells: int, least_lines: int, least_share: float) -> bool:
    try:
        counts = [len(r) for r in csv.reader(lines, delimiter=delimiter) if len(r) >= least_cells]
    except csv.Error:
        return False
    if len(counts) < least_lines:
        return False
    usual = max(set(counts), key=lambda n: (counts.count(n), n))
    return counts.count(usual) >= least_share * len(lines)


def _by_ending(head: bytes, name: str) -> Sniffed:
    """Binary files without a signature of ours."""
    known = _STITCH_ENDINGS.get(ending(name))
    if known:
        return _s(_K.STITCHES, known)
    if not head.strip(b"\0"):
        return _s(_K.OTHER, "application/octet-stream")
    return _s(_K.OTHER, _guess(head, name))


def _guess(head: bytes, name: str) -> str:
    """A media type from puremagic's table, which knows much that is of no use here but should be named rightly."""
    import puremagic

    try:
        return str(puremagic.from_string(head[:4096], mime=True, filename=None) or "application/octet-stream")
    except (puremagic.PureError, ValueError, IndexError):
        return "application/octet-stream"


# A name that a zip of this kind holds, what it is.
_IN_ZIP = (
    ("xl/workbook.xml", _s(_K.SHEET, _OPEN_XML + "spreadsheetml.sheet")),
    ("xl/workbook.bin", _s(_K.OFFICE, "application/vnd.ms-excel.sheet.binary.macroEnabled.12")),
    ("word/document.xml", _s(_K.OFFICE, _OPEN_XML + "wordprocessingml.document")),
    ("ppt/presentation.xml", _s(_K.OFFICE, _OPEN_XML + "presentationml.presentation")),
    ("META-INF/container.xml", _s(_K.OFFICE, "application/epub+zip")),
    ("META-INF/manifest.xml", _s(_K.OFFICE, "application/vnd.oasis.opendocument.text")),
    ("META-INF/MANIFEST.MF", _s(_K.OTHER, "application/java-archive")),
    ("AndroidManifest.xml", _s(_K.OTHER, "application/vnd.android.package-archive")),
)


def inside_zip(names: frozenset[str]) -> Sniffed | None:
    """What a zip with these member names really is, None if it is just a zip."""
    return next((sniffed for name, sniffed in _IN_ZIP if name in names), None)
