"""Coverage-guided fuzzing of the mail and page readers.

    pip install atheris
    python tests/fuzz/fuzz_receipts.py mail   -max_total_time=600 CORPUS_DIR
    python tests/fuzz/fuzz_receipts.py page   -max_total_time=600 CORPUS_DIR
    python tests/fuzz/fuzz_receipts.py table  -max_total_time=600
    python tests/fuzz/fuzz_receipts.py rtf    -max_total_time=600

Any bytes must end in a reading: an exception, a hang of more than ten seconds or more than 1 GB of memory is a finding.
atheris is no dependency of the project; without it the same targets run on random changes of the seeds for `--seconds`
seconds (60 if not said), which finds less.  Findings become tests in tests/receipts.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable

SEEDS: dict[str, list[bytes]] = {
    "mail": [
        b"From: Larch <shop@larch.example>\r\nSubject: =?utf-8?B?S8OkZmVy?=\r\nDate: Mon, 4 Mar 2024 10:00:00 +0100\r\n"
        b'Content-Type: multipart/alternative; boundary="b"\r\n\r\n--b\r\nContent-Type: text/plain; charset=utf-8\r\n\r\n'
        b"Thank you for your order!\r\nOrder number: 1042\r\nLinnet Hat (PDF)  1  7.00 EUR\r\nTotal: 7.00 EUR\r\n--b\r\n"
        b"Content-Type: text/html\r\nContent-Transfer-Encoding: quoted-printable\r\n\r\n<p>Order <b>1042</b>=20</p>\r\n--b--\r\n",
        b"Subject: Fwd: order\n\n---------- Forwarded message ---------\nFrom: A <a@b.example>\nDate: 1 Mar 2024\n"
        b"Subject: Your order 7\nTo: c\n\nThank you for your purchase\nWren Mittens 5.00\n",
        b"From: a@b.example\nContent-Type: message/rfc822\n\nFrom: c@d.example\nSubject: receipt\n\nYou paid 5.00 GBP to Larch\n",
        b"From: a@b.example\nSubject: We are closing\n\nLarch closes for good on 31 March 2025.\nSave your files.\n",
    ],
    "page": [
        b'<html><head><script type="application/ld+json">{"@type":"Order","orderNumber":"1042","price":"7.00",'
        b'"priceCurrency":"EUR","seller":{"name":"Larch"},"orderedItem":{"name":"Linnet Hat"}}</script></head><body></body></html>',
        b"<html><body><h1>Your order 1042</h1><table><tr><th>Item</th><th>Price</th></tr><tr><td>Linnet Hat (PDF)</td>"
        b"<td>7.00 EUR</td></tr><tr><td>Total</td><td>7.00 EUR</td></tr></table><a href='https://l.example/d'>Download</a></body></html>",
        b"<div itemscope itemtype='http://schema.org/Order'><meta itemprop='orderNumber' content='1'></div>",
        b"bplist00\xd1\x01\x02_\x10\x0fWebMainResource",
    ],
    "table": [
        b"Order number,Order date,Shop,Item,Quantity,Item total,Currency\n1,2024-03-01,Larch,Linnet Hat (PDF),1,7.00,EUR\n",
        b"Bestellnummer;Datum;Artikel;Preis\n1;01.03.2024;M\xfctze;7,00\n",
    ],
    "rtf": [
        b"{\\rtf1\\ansi\\ansicpg1252\\fromhtml1{\\fonttbl{\\f0\\fcharset238 A;}}{\\*\\htmltag <p>}\\htmlrtf\\par\\htmlrtf0 Gr\\'f6\\u8364?{\\*\\htmltag </p>}}",
        bytes.fromhex(
            "2d0000002b0000004c5a4675f1c5c7a703000a007263706731323542320af32068656c090020627705b06c647d0a800fa0"
        ),
    ],
}


def mail(data: bytes) -> None:
    from vault.model.evidence import EvidenceKind
    from vault.receipts.likely import may_be_evidence
    from vault.receipts.mime import parse_mail
    from vault.receipts.read import read

    may_be_evidence(data)
    for one in parse_mail(data).everything():
        assert "\x00" not in one.text
    read(EvidenceKind.MAIL, data)


def page(data: bytes) -> None:
    from vault.model.evidence import EvidenceKind
    from vault.receipts.other_mail import page_of
    from vault.receipts.read import read
    from vault.receipts.structured import read_structured

    read_structured(page_of(data).html)
    read(EvidenceKind.PAGE, data)


def table(data: bytes) -> None:
    from vault.receipts.table_export import read_csv, read_sheet

    for claim in read_csv(data).claims:
        assert claim.items
    read_sheet(data)


def rtf(data: bytes) -> None:
    from vault.receipts.rtf import body_of, unwrapped

    for body in (body_of(data), unwrapped(data)):
        assert not (body.html and body.text)


TARGETS: dict[str, Callable[[bytes], None]] = {"mail": mail, "page": page, "table": table, "rtf": rtf}


def changed(seed: bytes, rnd: random.Random) -> bytes:
    """A seed with some bytes changed, doubled, cut or moved."""
    data = bytearray(seed)
    for _ in range(rnd.randrange(1, 8)):
        if not data:
            break
        a, b = sorted(rnd.randrange(len(data) + 1) for _ in range(2))
        act = rnd.randrange(5)
        if act == 0:
            data[a:b] = rnd.randbytes(rnd.randrange(8))
        elif act == 1:
            data[a:a] = data[a:b] * rnd.randrange(1, 4)
        elif act == 2:
            del data[a:b]
        elif act == 3:
            data[a : a + 1] = bytes([rnd.choice(b"<>&=\"'\r\n\t :;,/%?-0\x00\x1b\x80\xe3\xff")])
        else:
            data[a:a] = rnd.choice(SEEDS["mail"] + SEEDS["page"])[: rnd.randrange(200)]
    return bytes(data[:65_536])


def without_atheris(target: Callable[[bytes], None], seeds: list[bytes], seconds: float) -> int:
    rnd = random.Random()
    end = time.monotonic() + seconds
    count, slowest = 0, 0.0
    while time.monotonic() < end:
        data = changed(rnd.choice(seeds), rnd)
        start = time.monotonic()
        try:
            target(data)
        except Exception:
            print("finding:", data)
            raise
        slowest = max(slowest, time.monotonic() - start)
        count += 1
    print(f"{count} inputs, slowest {slowest:.2f} s, no finding")
    return 0


def main() -> int:
    if len(sys.argv) < 2 or sys.argv[1] not in TARGETS:
        print(__doc__)
        return 2
    name = sys.argv.pop(1)
    target = TARGETS[name]
    try:
        import atheris
    except ImportError:
        seconds = float(sys.argv[2]) if len(sys.argv) > 2 and sys.argv[1] == "--seconds" else 60.0
        return without_atheris(target, SEEDS[name], seconds)
    with atheris.instrument_imports(include=["vault"]):
        for seed in SEEDS[name]:
            target(seed)  # imports what the target needs, instrumented
    atheris.Setup([sys.argv[0], "-timeout=10", "-rss_limit_mb=1024", *sys.argv[1:]], target)
    atheris.Fuzz()
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
