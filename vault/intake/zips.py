"""Zips opened within bounds: bytes, entries, nesting, ratio; nothing is ever written under a name of theirs.

Strategy: the directory of the zip is read and judged before anything is unpacked: entries that overlap are refused as
a whole (CVE-2024-0450; CPython before 3.11.8 does not look), so is a zip with more entries than any pattern has.  Then
each member is unpacked in small steps into a file that the caller names; bytes are counted as they come, for the sizes
in a zip are claims.  The ratio is judged only beyond a floor, because blank pages pack a thousand to one in innocence.
One `Budget` is shared by a zip and all zips inside it.

Only what nearly every zip uses is unpacked: stored and deflated members.  Names are labels (see `names`): decoded as
UTF-8 where flagged or where they cannot be anything else, else as CP437 (APPNOTE 4.4.4, appendix D).
"""

from __future__ import annotations

import errno
import stat
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from vault.errors import UnreadableError
from vault.intake.names import file_part, member_name, points_outside

DISK_FULL = (errno.ENOSPC, errno.EDQUOT, errno.EROFS)
_STEP = 256 * 1024
_LOCAL_HEADER = struct.Struct("<4s5H3I2H")  # APPNOTE 4.3.7
_UNICODE_PATH = 0x7075  # APPNOTE 4.6.9
_UNPACKABLE = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_LONGEST_DIRECTORY = 32 << 20
_LONGEST_END = 22 + 65_535 + 20  # end record with the longest comment, and the locator before it
_NOISE = frozenset([".ds_store", "thumbs.db", "desktop.ini"])


@dataclass(frozen=True, kw_only=True)
class ZipLimits:
    """What one zip, with all zips inside it, may come to."""

    total_bytes: int = 4 << 30
    entries: int = 10_000
    depth: int = 4  # zips inside zips
    zips: int = 120  # of them that are opened, inside one
    ratio: int = 200  # unpacked to packed, of one member
    ratio_floor: int = 64 << 20  # bytes up to which any ratio is innocent


@dataclass
class Budget:
    """What is left of the limits for one zip and all inside it."""

    limits: ZipLimits
    bytes_left: int
    entries_left: int
    zips_left: int = 0

    @classmethod
    def of(cls, limits: ZipLimits) -> Budget:
        """A fresh budget."""
        return cls(limits=limits, bytes_left=limits.total_bytes, entries_left=limits.entries, zips_left=limits.zips)


@dataclass(frozen=True, kw_only=True)
class Member:
    """One unpacked member: its harmless name, and the file that now holds its bytes (the caller's to remove).

    `strayed` is the name as it stands in the zip, if that would lead out of it.
    """

    name: str
    path: Path
    n_bytes: int
    strayed: str | None = None


def names_in(path: Path) -> frozenset[str]:
    """The names of a zip's members as they stand in it; none if it cannot be opened."""
    try:
        with OpenedZip(path, Budget.of(ZipLimits())) as opened:
            return opened.names()
    except UnreadableError:
        return frozenset()


@dataclass(frozen=True, kw_only=True)
class Refused:
    """One member that was not unpacked, and why: `code` is "locked", "packing", "damaged", "ratio" or "full"."""

    name: str
    code: str
    reason: str
    next: str


class OpenedZip:
    """A zip whose directory was read and found sound.  Use it with `with`.

    Raises UnreadableError (code "zip-damaged", "zip-overlap", "zip-entries") when it is opened.
    """

    def __init__(self, path: Path, budget: Budget) -> None:
        self._budget = budget
        try:
            self._file = path.open("rb")
        except OSError as error:
            raise UnreadableError(
                f"it cannot be opened: {error.strerror or error}", "see whether it may be read"
            ) from error
        try:
            self._zip = _directory(self._file)
            self._entries = self._zip.infolist()
            self._judge()
        except BaseException:
            self._file.close()
            raise

    def __enter__(self) -> OpenedZip:
        return self

    def __exit__(self, *_: object) -> None:
        self._zip.close()
        self._file.close()

    def names(self) -> frozenset[str]:
        """The names of all members as they stand in the zip."""
        return frozenset(e.filename for e in self._entries)

    def _judge(self) -> None:
        limits = self._budget.limits
        if len(self._entries) > self._budget.entries_left:
            raise UnreadableError(
                f"it holds more than {limits.entries} files",
                "unpack it yourself and import the folder with the patterns",
                code="zip-entries",
            )
        self._budget.entries_left -= len(self._entries)
        if any(e.header_offset < 0 for e in self._entries):
            raise UnreadableError("the zip is damaged or cut off", "download it again", code="zip-damaged")
        if _overlapping(self._file, self._entries, self._zip.start_dir):
            raise UnreadableError(
                "its entries lie over each other, as in a zip bomb",
                "delete it, if you do not know it",
                code="zip-overlap",
            )

    def members(self, place: Callable[[], Path]) -> Iterator[Member | Refused]:
        """Each member unpacked into a file of `place()`, or the reason why not, worded for a person.

        The iteration ends when the budget is used up.
        """
        for entry in self._entries:
            name = member_name(real_name(entry))
            if _is_nothing(entry, name):
                continue
            code = _refusal(entry)
            if code:
                yield Refused(name=name, code=code, reason=_REFUSALS[code][0], next=_REFUSALS[code][1])
                continue
            path = place()
            try:
                n_bytes = self._unpack(entry, path)
            except UnreadableError as error:
                path.unlink(missing_ok=True)
                yield Refused(name=name, code=error.code, reason=error.message, next=error.next_step)
                if error.code == "full":
                    return
                continue
            written = real_name(entry)
            strayed = written if points_outside(written) else None
            yield Member(name=name, path=path, n_bytes=n_bytes, strayed=strayed)

    def _unpack(self, entry: zipfile.ZipInfo, path: Path) -> int:
        """Unpacks one member, counting; the number of bytes."""
        limits, done = self._budget.limits, 0
        try:
            with self._zip.open(entry) as source, path.open("xb") as target:
                while chunk := source.read(_STEP):
                    done += len(chunk)
                    self._budget.bytes_left -= len(chunk)
                    if self._budget.bytes_left < 0:
                        raise UnreadableError(
                            f"the zip comes to more than {limits.total_bytes >> 20} MB",
                            "unpack it yourself and import the folder with the patterns",
                            code="full",
                        )
                    if done > limits.ratio_floor and done > limits.ratio * max(1, entry.compress_size):
                        raise UnreadableError(
                            f"it swells from {_size(entry.compress_size)} to more than {_size(done)}, as in a zip bomb",
                            "delete it, if you do not know it; else unpack it yourself and import the folder",
                            code="ratio",
                        )
                    target.write(chunk)
        except (zipfile.BadZipFile, zlib.error, EOFError, struct.error, ValueError) as error:
            raise _damaged(f"it is damaged inside the zip ({error})") from error
        except OSError as error:
            if error.errno in DISK_FULL:
                raise
            raise _damaged(f"it cannot be unpacked ({error.strerror})") from error
        except (NotImplementedError, RuntimeError) as error:
            raise UnreadableError(*_REFUSALS["packing"], code="packing") from error
        return done


# Code, what is said, what to do.
_REFUSALS = {
    "locked": ("it is locked with a password", "unpack it with the password and import the folder"),
    "packing": ("it is packed in an unusual way", "unpack it yourself and import the folder"),
}


def _refusal(entry: zipfile.ZipInfo) -> str | None:
    if entry.flag_bits & 0x1:
        return "locked"
    return None if entry.compress_type in _UNPACKABLE else "packing"


def _damaged(reason: str) -> UnreadableError:
    return UnreadableError(reason, "download the zip again", code="damaged")


def _size(n_bytes: int) -> str:
    return f"{n_bytes >> 20} MB" if n_bytes >= 1 << 20 else f"{max(1, n_bytes >> 10)} kB"


def _directory(file: BinaryIO) -> zipfile.ZipFile:
    try:
        if _directory_size(file) > _LONGEST_DIRECTORY:
            raise UnreadableError(
                "it holds more files than any pattern has",
                "unpack it yourself and import the folder",
                code="zip-entries",
            )
        return zipfile.ZipFile(file)
    except (zipfile.BadZipFile, zipfile.LargeZipFile, struct.error, ValueError, NotImplementedError, EOFError) as error:
        raise UnreadableError(
            f"the zip is damaged or cut off ({str(error).rstrip('.').lower()})", "download it again", code="zip-damaged"
        ) from error
    except (OSError, OverflowError, MemoryError, LookupError) as error:
        raise UnreadableError("the zip is damaged or cut off", "download it again", code="zip-damaged") from error


def _directory_size(file: BinaryIO) -> int:
    """What the zip says of the size of its directory, which the library would read into memory whole."""
    end = file.seek(0, 2)
    file.seek(max(0, end - _LONGEST_END))
    tail = file.read()
    found = tail.rfind(b"PK\x05\x06")  # APPNOTE 4.3.16
    if found < 0 or len(tail) < found + 22:
        return 0
    size: int = struct.unpack("<I", tail[found + 12 : found + 16])[0]
    if size == 0xFFFFFFFF:
        # APPNOTE 4.3.14, 4.3.15: the locator stands right before and says where the 64-bit record is.
        locator = tail[max(0, found - 20) : found]
        if locator[:4] != b"PK\x06\x07":
            return 0
        file.seek(struct.unpack("<Q", locator[8:16])[0])
        record = file.read(56)
        size = struct.unpack("<Q", record[40:48])[0] if record[:4] == b"PK\x06\x06" and len(record) == 56 else 0
    return size


def _overlapping(file: BinaryIO, entries: list[zipfile.ZipInfo], directory: int) -> bool:
    """Whether any entry's bytes run into the next one's or the directory, by the lengths in the local headers."""
    ordered = sorted(entries, key=lambda e: e.header_offset)
    ends = [e.header_offset for e in ordered[1:]] + [directory]
    for entry, end in zip(ordered, ends, strict=True):
        if entry.header_offset + _LOCAL_HEADER.size > end:
            return True
        file.seek(entry.header_offset)
        header = file.read(_LOCAL_HEADER.size)
        if len(header) < _LOCAL_HEADER.size:
            return True
        fields = _LOCAL_HEADER.unpack(header)
        if entry.header_offset + _LOCAL_HEADER.size + fields[9] + fields[10] + entry.compress_size > end:
            return True
    return False


def _is_nothing(entry: zipfile.ZipInfo, name: str) -> bool:
    """Folders, links, and what systems pack along for themselves."""
    last = file_part(name)
    link = entry.create_system == 3 and stat.S_ISLNK(entry.external_attr >> 16)
    return (
        entry.filename.endswith("/")
        or link
        or name.startswith("__MACOSX/")
        or last.startswith("._")
        or last.lower() in _NOISE
    )


def real_name(entry: zipfile.ZipInfo) -> str:
    """The name of a member as it was meant.

    Programs that write UTF-8 without the flag are common; bytes beyond ASCII that are valid UTF-8 are hardly ever
    anything else.  A Unicode path field counts if its checksum fits the name beside it.
    """
    name = entry.orig_filename.split("\0", 1)[0] if entry.orig_filename else entry.filename
    if entry.flag_bits & 0x800:
        return name
    try:
        raw = name.encode("cp437")
    except UnicodeEncodeError:
        return name
    told = _unicode_path(entry.extra, raw)
    if told:
        return told
    if raw.isascii():
        return name
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        return name


def _unicode_path(extra: bytes, raw: bytes) -> str | None:
    while len(extra) >= 4:
        tag, size = struct.unpack("<HH", extra[:4])
        data, extra = extra[4 : 4 + size], extra[4 + size :]
        if tag == _UNICODE_PATH and len(data) > 5 and data[0] == 1:
            if struct.unpack("<I", data[1:5])[0] != zlib.crc32(raw):
                return None
            try:
                return data[5:].decode("utf-8")
            except UnicodeDecodeError:
                return None
    return None
