"""Writes small Outlook files for the tests: [MS-CFB] version 3 with a mini stream, [MS-OXMSG] properties."""

from __future__ import annotations

import struct
from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import pairwise

FREE, END, FAT = 0xFFFFFFFF, 0xFFFFFFFE, 0xFFFFFFFD
SECTOR, MINI, CUTOFF = 512, 64, 4096
UNICODE, BINARY, INTEGER, TIME, OBJECT = 0x001F, 0x0102, 0x0003, 0x0040, 0x000D


@dataclass
class Storage:
    """A folder of an OLE file: streams by name, folders by name."""

    streams: dict[str, bytes] = field(default_factory=dict)
    storages: dict[str, Storage] = field(default_factory=dict)


def message(
    properties: dict[int, object], *, attachments: list[Storage] | None = None, header_size: int = 32
) -> Storage:
    """A message storage: property id -> text, bytes, number or datetime.  An embedded one has a header of 24 bytes."""
    out = Storage()
    _write_properties(out, properties, header_size, len(attachments or []))
    for number, attachment in enumerate(attachments or []):
        out.storages[f"__attach_version1.0_#{number:08X}"] = attachment
    return out


def file_attachment(name: str, media_type: str, content: bytes) -> Storage:
    out = Storage()
    _write_properties(out, {0x3701: content, 0x3707: name, 0x370E: media_type, 0x3705: 1}, 8, 0)
    return out


def embedded(inner: Storage) -> Storage:
    """An attachment that is a message itself."""
    out = Storage()
    _write_properties(out, {0x3705: 5}, 8, 0)
    out.storages["__substg1.0_3701000D"] = inner
    return out


def _write_properties(out: Storage, properties: dict[int, object], header_size: int, attachments: int) -> None:
    header = struct.pack("<8x4I", 0, attachments, 0, attachments)[:header_size].ljust(header_size, b"\0")
    rows = bytearray(header if header_size > 8 else bytes(8))
    for pid, value in properties.items():
        if isinstance(value, str):
            data, kind = value.encode("utf-16-le"), UNICODE
        elif isinstance(value, bytes):
            data, kind = value, BINARY
        elif isinstance(value, datetime):
            ticks = int((value - datetime(1601, 1, 1, tzinfo=UTC)).total_seconds() * 10_000_000)
            rows += struct.pack("<HHIQ", TIME, pid, 6, ticks)
            continue
        else:
            rows += struct.pack("<HHIII", INTEGER, pid, 6, int(str(value)), 0)
            continue
        out.streams[f"__substg1.0_{pid:04X}{kind:04X}"] = data
        size = len(data) + (2 if kind == UNICODE else 0)
        rows += struct.pack("<HHIII", kind, pid, 6, size, 0)
    out.streams["__properties_version1.0"] = bytes(rows)


def ole(root: Storage) -> bytes:
    """The bytes of an OLE file with that content."""
    entries: list[list[object]] = []  # name, type, child, left, right, start, size
    large: list[bytes] = []
    mini = bytearray()
    minifat: list[int] = []
    sectors = 0

    def add(name: str, kind: int) -> int:
        entries.append([name, kind, FREE, FREE, FREE, 0, 0])
        return len(entries) - 1

    def fill(number: int, storage: Storage) -> None:
        nonlocal sectors
        children: list[int] = []
        names = sorted([*storage.streams, *storage.storages], key=lambda n: (len(n), n.upper()))
        for name in names:
            if name in storage.streams:
                data = storage.streams[name]
                child = add(name, 2)
                entries[child][6] = len(data)
                if len(data) >= CUTOFF:
                    entries[child][5] = ("large", len(large))
                    large.append(data)
                elif data:
                    entries[child][5] = len(mini) // MINI
                    count = -(-len(data) // MINI)
                    first = len(minifat)
                    minifat.extend([first + k + 1 for k in range(count - 1)] + [END])
                    mini.extend(data.ljust(count * MINI, b"\0"))
                else:
                    entries[child][5] = END
            else:
                child = add(name, 1)
                fill(child, storage.storages[name])
            children.append(child)
        for one, following in pairwise(children):
            entries[one][4] = following
        if children:
            entries[number][2] = children[0]

    fill(add("Root Entry", 5), root)
    chains: list[int] = []
    body = bytearray()

    def store(data: bytes) -> int:
        if not data:
            return END
        first = len(chains)
        count = -(-len(data) // SECTOR)
        chains.extend([first + k + 1 for k in range(count - 1)] + [END])
        body.extend(data.ljust(count * SECTOR, b"\0"))
        return first

    starts = [store(data) for data in large]
    entries[0][5], entries[0][6] = store(bytes(mini)), len(mini)
    minifat_start = store(
        b"".join(struct.pack("<I", n) for n in minifat).ljust(-(-len(minifat) // 128) * SECTOR, b"\xff")
    )
    directory = bytearray()
    for name, kind, child, left, right, start, size in entries:
        text = str(name).encode("utf-16-le")
        place = starts[start[1]] if isinstance(start, tuple) else start
        directory += text.ljust(64, b"\0") + struct.pack("<HBBIII", len(text) + 2, kind, 1, left, right, child)
        directory += bytes(16) + struct.pack("<IQQIQ", 0, 0, 0, place, size)
    while len(directory) % SECTOR:
        directory += bytes(64) + struct.pack("<HBBIII", 0, 0, 0, FREE, FREE, FREE) + bytes(48)
    directory_start = store(bytes(directory))
    n_fat = 1
    while n_fat * 128 < len(chains) + n_fat:
        n_fat += 1
    fat_start = len(chains)
    chains.extend([FAT] * n_fat)
    fat = b"".join(struct.pack("<I", n) for n in chains).ljust(n_fat * SECTOR, b"\xff")
    difat = [fat_start + k for k in range(n_fat)]
    header = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(16)
    header += struct.pack("<HHHHH6xIIIIIIIII", 0x3E, 3, 0xFFFE, 9, 6, 0, n_fat, directory_start, 0, CUTOFF,
                          minifat_start, -(-len(minifat) // 128), END, 0)  # fmt: skip
    header += b"".join(struct.pack("<I", n) for n in difat).ljust(109 * 4, b"\xff")
    return header + bytes(body) + fat
