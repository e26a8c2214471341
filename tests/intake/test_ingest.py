"""The import from end to end, with stand-in readers: what is kept, what is said, what a second import changes."""

from __future__ import annotations

import io
import os
import sys
import zipfile
from datetime import date
from hashlib import sha256
from pathlib import Path

import pytest
from stand_ins import Counted, mail, pdf, put, readers

from vault.catalogue import Catalogue
from vault.errors import StoreError, UsageError
from vault.intake.ingest import IngestSummary, StandardInput, ingest
from vault.intake.remembering import is_record
from vault.intake.zips import ZipLimits
from vault.model.match import FileView
from vault.safekeeping.folder import VaultFolder
from vault.safekeeping.lock import VaultLock
from vault.safekeeping.objects import ObjectStore

DAY = date(2026, 3, 3)
SKIRT = pdf("PATTERN", "Title: Bustle Skirt")
SOCKS = pdf("PATTERN", "Title: Prompter's Socks")
STATEMENT = pdf("STATEMENT", "Kontoauszug of Nora")
ORDER = mail("Order: TW-1", "Item: Bustle Skirt", "Item: Prompter's Socks")
PNG = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR picture"


class Vault:
    """A vault in a scratch folder and a folder to import from."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.inbox = root / "in"
        self.inbox.mkdir()
        self.folder = VaultFolder(root / "vault")
        self.counted = Counted()

    def put(self, files: dict[str, bytes]) -> None:
        put(self.inbox, files)

    def run(
        self, *paths: Path | StandardInput, keep: bool = False, version: str = "t1", **options: object
    ) -> IngestSummary:
        return ingest(
            self.folder,
            paths or [self.inbox],
            keep=keep,
            day=DAY,
            readers=readers(self.counted, version),
            **options,  # type: ignore[arg-type]
        )

    def objects(self) -> set[str]:
        """What is kept of what was imported; the vault's own small records are left out."""
        store = ObjectStore(self.folder)
        return {d for d in store.digests() if not is_record(store.path_of(d).read_bytes()[:100])}

    def files(self) -> dict[str, FileView]:
        with Catalogue.open_read_only(self.folder.catalogue_path) as catalogue:
            return {(v.file.sightings[0].inside or Path(v.file.sightings[0].path).name): v for v in catalogue.files()}

    def sources(self) -> list[str]:
        with Catalogue.open_read_only(self.folder.catalogue_path) as catalogue:
            found = [s for c in catalogue.claims() for s in catalogue.sources(c.evidence_sha256)]
        return [s.replace(str(self.inbox) + os.sep, "") for s in found]

    def state(self) -> object:
        """Everything that is shown, and the objects."""
        with Catalogue.open_read_only(self.folder.catalogue_path) as c:
            truth = (c.claims(), c.notices(), c.problems(), self.objects())
            return (c.purchases(), c.files(), c.sellers(), c.questions(), truth)


@pytest.fixture
def vault(tmp_path: Path) -> Vault:
    return Vault(tmp_path)


def digest(content: bytes) -> str:
    return sha256(content).hexdigest()


def zipped(members: dict[str, bytes], how: int = zipfile.ZIP_STORED) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as made:
        for name, content in members.items():
            made.writestr(zipfile.ZipInfo(name, (2026, 1, 1, 0, 0, 0)), content, how)
    return buffer.getvalue()


def test_receipts_and_files_become_purchases_and_links(vault: Vault) -> None:
    vault.put({"mail/1.eml": ORDER, "Downloads/skirt.pdf": SKIRT})
    summary = vault.run()
    assert (summary.documents, summary.purchases_new, summary.files_new, summary.linked) == (1, 1, 1, 1)
    assert summary.problems == ()
    assert summary.titles == (
        "bought: Bustle Skirt and 1 more, Thimblewick",
        "held now: Bustle Skirt (Thimblewick)",
    )
    assert vault.sources() == ["mail/1.eml"]
    assert vault.objects() == {digest(ORDER), digest(SKIRT)}
    with Catalogue.open_read_only(vault.folder.catalogue_path) as catalogue:
        assert [(e.kind, e.detail) for e in catalogue.events()] == [("import", "1 documents, 1 files, 1 purchases")]


def test_importing_again_changes_nothing_and_reads_nothing(vault: Vault) -> None:
    vault.put(
        {"1.eml": ORDER, "skirt.pdf": SKIRT, "z.zip": zipped({"A4.pdf": SOCKS}), "box": b"", "bank.pdf": STATEMENT}
    )
    vault.run()
    before, jobs = vault.state(), list(vault.counted.jobs)
    catalogue = vault.folder.catalogue_path.read_bytes()
    again = vault.run()
    assert vault.state() == before
    assert vault.counted.jobs == jobs
    assert vault.folder.catalogue_path.read_bytes() == catalogue
    assert (again.documents, again.purchases_new, again.files_new, again.linked) == (0, 0, 0, 0)
    assert (again.unchanged, again.passed_over) == (5, ())


def test_the_order_of_imports_does_not_matter(tmp_path: Path) -> None:
    shown = []
    for first, second in (("a", "b"), ("b", "a")):
        root = tmp_path / first
        root.mkdir()
        vault = Vault(root)
        vault.put({"a/1.eml": ORDER, "b/skirt.pdf": SKIRT})
        vault.run(vault.inbox / first)
        vault.run(vault.inbox / second)
        with Catalogue.open_read_only(vault.folder.catalogue_path) as c:
            shown.append([(i.item.title, i.standing.state, len(i.links)) for v in c.purchases() for i in v.items])
    assert shown[0] == shown[1]


def test_inputs_are_untouched_bytes_and_times(vault: Vault) -> None:
    vault.put({"1.eml": ORDER, "s.pdf": SKIRT, "z.zip": zipped({"A4.pdf": SOCKS})})
    for path in vault.inbox.iterdir():
        os.utime(path, ns=(10**18, 10**18 + 7))
    before = {p: (p.read_bytes(), p.stat().st_mtime_ns, p.stat().st_mode) for p in vault.inbox.iterdir()}
    vault.run()
    assert {p: (p.read_bytes(), p.stat().st_mtime_ns, p.stat().st_mode) for p in vault.inbox.iterdir()} == before


# --- what is kept --------------------------------------------------------------------------------


def test_a_bank_statement_is_listed_as_no_pattern_and_never_copied(vault: Vault) -> None:
    vault.put({"bank.pdf": STATEMENT, "holiday.png": PNG, "advert.eml": mail("Sale! Order: now")})
    summary = vault.run()
    assert vault.objects() == set()
    view = vault.files()["bank.pdf"]
    assert (view.file.facts.is_pattern, view.file.kept, view.file.facts.text) == (False, False, "")
    assert b"Kontoauszug" not in vault.folder.catalogue_path.read_bytes()
    assert dict(summary.passed_over) == {
        "PDFs that are neither pattern nor receipt": 1,
        "adverts": 1,
        "pictures": 1,
    }


def test_keep_overrides(vault: Vault) -> None:
    contents = {"bank.pdf": STATEMENT, "holiday.png": PNG, "letter.eml": mail("Dear Nora"), "a.bin": b"\0\1\2\xff" * 9}
    vault.put(contents)
    vault.run()
    assert vault.objects() == set()
    summary = vault.run(keep=True)
    assert vault.objects() == {digest(c) for c in contents.values()}
    assert summary.unchanged == 0
    assert vault.run(keep=True).unchanged == vault.run().unchanged == 4


def test_a_pdf_that_cannot_be_told_is_kept(vault: Vault) -> None:
    vault.put({"odd.pdf": pdf("nothing to go by")})
    vault.run()
    assert vault.files()["odd.pdf"].file.facts.is_pattern is None
    assert vault.objects() == {digest(pdf("nothing to go by"))}


def test_a_receipt_in_a_pdf_is_evidence_and_listed_as_no_pattern(vault: Vault) -> None:
    vault.put({"invoice.pdf": pdf("STATEMENT", "Order: TW-9", "Item: Cloak")})
    summary = vault.run()
    assert (summary.documents, summary.purchases_new, summary.files_new) == (1, 1, 0)
    assert vault.sources() == ["invoice.pdf"]
    assert vault.files()["invoice.pdf"].file.facts.is_pattern is False
    assert len(vault.objects()) == 1
    assert vault.run().unchanged == 1


def test_a_pattern_that_names_an_order_is_a_pattern(vault: Vault) -> None:
    vault.put({"stamped.pdf": pdf("PATTERN", "Order: TW-9", "Item: Cloak")})
    summary = vault.run()
    assert (summary.documents, summary.files_new) == (0, 1)


def test_a_notice_is_evidence_too(vault: Vault) -> None:
    vault.put({"n.eml": mail("Closing: 2026-12-31")})
    assert vault.run().documents == 1
    assert len(vault.objects()) == 1


def test_what_looks_like_a_purchase_and_cannot_be_read_is_a_problem_and_kept(vault: Vault) -> None:
    vault.put({"u.eml": mail("Unclear: thing")})
    for _ in range(2):
        summary = vault.run()
        assert [p.reason for p in summary.problems] == ["it speaks of a purchase that cannot be read"]
        assert summary.problems[0].source.endswith("u.eml")
    assert len(vault.objects()) == 1


@pytest.mark.parametrize("kind", ["page.html", "orders.csv", "note.txt"])
def test_other_kinds_of_evidence(vault: Vault, kind: str) -> None:
    lines = "Order: TW-3\nItem: Cape, wool, red, long\nItem: b, c, d, e\nItem: f, g, h, i\n"
    text = "<html><pre>\n" + lines if kind.endswith("html") else lines
    vault.put({kind: text.encode()})
    assert vault.run().purchases_new == 1
    assert vault.sources() == [kind]


def test_a_text_pattern_is_kept_and_any_other_text_is_not(vault: Vault) -> None:
    vault.put({"vest.txt": b"PATTERN cast on", "shopping.txt": b"milk, eggs"})
    summary = vault.run()
    assert vault.objects() == {digest(b"PATTERN cast on")}
    assert dict(summary.passed_over) == {"texts without a purchase": 1}


def test_a_picture_is_kept_only_beside_its_design(vault: Vault) -> None:
    vault.put({"fox.png": PNG, "fox.svg": b"<svg> PATTERN </svg>", "other/fox.png": PNG + b"2"})
    vault.run()
    assert vault.objects() == {digest(PNG), digest(b"<svg> PATTERN </svg>")}


# --- bad input -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("empty.pdf", b"", "empty"),
        ("cut.pdf", SKIRT[:-8], "end of the file is missing"),
        ("error.pdf", b"<html><body>Link expired</body></html>", "web page"),
        ("error.zip", b"<!doctype html><html>log in</html>", "web page"),
        ("pic.pdf", PNG, "it is a picture, not the PDF"),
        ("crash.pdf", pdf("CRASH"), "its reader crashed"),
        ("cut.zip", zipped({"A4.pdf": SKIRT * 50})[:-30], "damaged or cut off"),
        ("a.rar", b"Rar!\x1a\x07\1\0", "RAR archive"),
    ],
)
def test_bad_input_costs_one_sentence_and_the_rest_goes_on(vault: Vault, name: str, content: bytes, words: str) -> None:
    vault.put({name: content, "z/skirt.pdf": SKIRT})
    for files_new in (1, 0):
        summary = vault.run()
        assert [p.source for p in summary.problems] == [str(vault.inbox / name)]
        assert words in summary.problems[0].reason
        assert summary.problems[0].next
        assert summary.files_new >= files_new
    (vault.inbox / name).unlink()
    assert vault.run().problems == ()


def test_a_damaged_download_holds_nothing(vault: Vault) -> None:
    vault.put({"1.eml": ORDER, "cut.pdf": b"%PDF-1.4\nTitle: Bustle Skirt\n"})
    assert vault.run().linked == 0
    assert vault.files()["cut.pdf"].file.facts.unusable == "truncated"


def test_a_mistake_of_a_reader_is_said_and_tried_again(vault: Vault) -> None:
    vault.put({"c.eml": mail("Order: TW-1", "CRASH"), "d.html": b"<html>CRASH</html>", "s.pdf": SKIRT})
    for n in range(2):
        summary = vault.run()
        assert ["KeyError" in p.reason for p in summary.problems] == [True, True]
        assert summary.files_new == 1 - n
    assert vault.objects() == {digest(SKIRT)}


def test_a_problem_goes_when_the_file_is_whole(vault: Vault) -> None:
    vault.put({"skirt.pdf": SKIRT[:-8]})
    assert len(vault.run().problems) == 1
    vault.put({"skirt.pdf": SKIRT})
    assert vault.run().problems == ()
    assert vault.run().problems == ()


def test_problems_of_other_places_are_not_repeated(vault: Vault) -> None:
    vault.put({"a/cut.pdf": SKIRT[:-8], "b/skirt.pdf": SKIRT})
    vault.run()
    assert vault.run(vault.inbox / "b").problems == ()
    assert len(vault.run(vault.inbox / "a").problems) == 1


def test_a_path_that_is_not_there_is_a_problem(vault: Vault) -> None:
    summary = vault.run(vault.inbox / "nowhere")
    assert [p.reason for p in summary.problems] == ["there is no such file or folder"]
    with pytest.raises(UsageError):
        ingest(vault.folder, [], day=DAY)


@pytest.mark.skipif(sys.platform != "linux", reason="names that are no text need a file system that takes them")
def test_a_name_that_is_no_text_costs_nothing(vault: Vault) -> None:
    with open(os.fsencode(vault.inbox) + b"/Kleid M\xf6hrchen.pdf", "wb") as handle:  # noqa: PTH123
        handle.write(SKIRT)
    assert vault.run().files_new == 1
    (view,) = vault.files().values()
    assert view.file.sightings[0].path.endswith("Kleid M\\xf6hrchen.pdf")
    assert vault.run().unchanged == 1


def test_a_long_name(vault: Vault) -> None:
    vault.put({"x" * 250 + ".pdf": SKIRT})
    assert vault.run().files_new == 1


# --- zips ----------------------------------------------------------------------------------------


def test_a_zip_and_its_members(vault: Vault) -> None:
    inner = zipped({"A0.pdf": SOCKS})
    outer = zipped({"Skirt/A4.pdf": SKIRT, "preview.png": PNG, "licence.txt": b"personal use", "inner.zip": inner})
    vault.put({"order.zip": outer, "1.eml": ORDER})
    summary = vault.run()
    files = vault.files()
    assert set(files) == {"Skirt/A4.pdf", "preview.png", "licence.txt", "inner.zip", "inner.zip/A0.pdf", "order.zip"}
    a0 = files["inner.zip/A0.pdf"].file.sightings[0]
    assert (a0.path, a0.zip_sha256) == (str(vault.inbox / "order.zip"), digest(inner))
    assert files["order.zip"].file.members == tuple(digest(c) for c in (SKIRT, PNG, b"personal use", inner))
    assert vault.objects() >= {digest(c) for c in (outer, inner, SKIRT, SOCKS, PNG, b"personal use")}
    assert (summary.linked, summary.problems) == (2, ())
    assert list((vault.folder.root / "tmp").iterdir()) == []


def test_a_zip_of_holiday_pictures_is_not_kept(vault: Vault) -> None:
    vault.put({"photos.zip": zipped({"1.png": PNG, "2.png": PNG + b"2"})})
    summary = vault.run()
    assert vault.objects() == set()
    assert dict(summary.passed_over) == {"zips without a pattern": 1}


def test_receipts_in_a_zip_are_evidence_and_the_zip_is_not_kept(vault: Vault) -> None:
    vault.put({"export.zip": zipped({"mails/1.eml": ORDER, "mails/2.eml": mail("Dear Nora")})})
    assert vault.run().documents == 1
    assert vault.sources() == ["export.zip > mails/1.eml"]
    assert vault.objects() == {digest(ORDER)}


def test_a_zip_bomb_is_said_not_kept_and_not_opened_again(vault: Vault) -> None:
    limits = ZipLimits(ratio=50, ratio_floor=1 << 20)
    vault.put({"bomb.zip": zipped({"zeros.pdf": bytes(4 << 20)}, zipfile.ZIP_DEFLATED), "skirt.pdf": SKIRT})
    for _ in range(2):
        summary = vault.run(limits=limits)
        (problem,) = summary.problems
        assert problem.source == str(vault.inbox / "bomb.zip") + " > zeros.pdf"
        assert "zip bomb" in problem.reason
    assert vault.objects() == {digest(SKIRT)}
    assert list((vault.folder.root / "tmp").iterdir()) == []


def test_a_locked_zip_is_kept_and_holds_nothing(vault: Vault) -> None:
    raw = bytearray(zipped({"A4.pdf": SKIRT}))
    raw[raw.index(b"PK\x03\x04") + 6] |= 1
    raw[raw.index(b"PK\x01\x02") + 8] |= 1
    vault.put({"locked.zip": bytes(raw)})
    summary = vault.run()
    assert ["password" in p.reason for p in summary.problems] == [True]
    assert vault.objects() == {digest(bytes(raw))}
    facts = vault.files()["locked.zip"].file.facts
    assert (facts.unusable, facts.encrypted) == ("locked", "user")


def test_zips_in_zips_end_somewhere(vault: Vault) -> None:
    raw = zipped({"A4.pdf": SKIRT})
    for n in range(7):
        raw = zipped({f"{n}.zip": raw})
    vault.put({"deep.zip": raw})
    summary = vault.run()
    assert any("too many zips" in p.reason for p in summary.problems)


def test_a_known_zip_at_another_place_is_seen_twice_and_read_once(vault: Vault) -> None:
    raw = zipped({"A4.pdf": SKIRT})
    vault.put({"a.zip": raw})
    vault.run()
    jobs = list(vault.counted.jobs)
    vault.put({"copy.zip": raw})
    summary = vault.run()
    assert vault.counted.jobs == jobs
    assert summary.files_new == 0
    paths = [(Path(s.path).name, s.inside) for s in vault.files()["A4.pdf"].file.sightings]
    assert paths == [("a.zip", "A4.pdf"), ("copy.zip", "A4.pdf")]


def test_names_in_a_zip_write_nothing_outside(vault: Vault) -> None:
    vault.put({"names.zip": zipped({"../../evil.pdf": SKIRT, "/abs.pdf": SOCKS})})
    vault.run()
    assert {p.name for p in vault.root.iterdir()} == {"in", "vault"}
    assert set(vault.files()) == {"evil.pdf", "abs.pdf", "names.zip"}


# --- mails ---------------------------------------------------------------------------------------


def test_attachments_are_imported_in_their_turn(vault: Vault) -> None:
    invoice = pdf("STATEMENT", "Order: TW-1")
    raw = mail(
        "Order: TW-1", "Item: Bustle Skirt", attached={"skirt.pdf": SKIRT, "invoice.pdf": invoice, "logo.png": PNG}
    )
    vault.put({"1.eml": raw})
    summary = vault.run()
    assert (summary.documents, summary.files_new, summary.linked) == (2, 1, 1)
    assert sorted(vault.sources()) == ["1.eml", "1.eml > invoice.pdf"]
    seen = vault.files()["skirt.pdf"].file.sightings[0]
    assert (seen.path, seen.inside) == (str(vault.inbox / "1.eml"), "skirt.pdf")
    assert vault.objects() == {digest(raw), digest(SKIRT), digest(invoice)}
    assert dict(summary.passed_over) == {}


def test_a_pattern_in_a_mail_that_is_no_evidence_is_kept_and_the_mail_is_not(vault: Vault) -> None:
    raw = mail("as promised", attached={"skirt.pdf": SKIRT, "bank.pdf": STATEMENT})
    vault.put({"1.eml": raw})
    vault.run()
    assert vault.objects() == {digest(SKIRT)}


def mailbox(*messages: bytes, eol: bytes = b"\n") -> bytes:
    start = b"From orders@thimblewick.example Sun Mar  1 10:00:00 2026\n"
    raw = b"".join(start + m + b"\n" for m in messages)
    return raw.replace(b"\n", eol)


@pytest.mark.parametrize("eol", [b"\n", b"\r\n"])
def test_each_message_of_a_mailbox_is_evidence_of_its_own(vault: Vault, eol: bytes) -> None:
    messages = [
        mail("Dear Nora", "From here on we sew", number=1),
        mail("Order: A", number=2),
        mail("Order: B", number=3),
    ]
    vault.put({"Inbox": mailbox(*messages, eol=eol)})
    summary = vault.run()
    assert (summary.documents, summary.purchases_new) == (2, 2)
    assert vault.sources() == ["Inbox#2", "Inbox#3"]
    assert vault.objects() == {digest(m.replace(b"\n", eol)) for m in messages[1:]}
    assert vault.run().unchanged == 1


def test_a_mailbox_that_has_grown_gives_what_is_new(vault: Vault) -> None:
    vault.put({"Inbox": mailbox(mail("Order: A", number=1), mail("Unclear: x", number=2))})
    assert len(vault.run().problems) == 1
    vault.put({"Inbox": mailbox(mail("Order: A", number=1), mail("Unclear: x", number=2), mail("Order: C", number=3))})
    summary = vault.run()
    assert (summary.documents, summary.unchanged) == (1, 2)
    assert [Path(p.source).name for p in summary.problems] == ["Inbox#2"]


def test_standard_input_is_whatever_it_is(vault: Vault) -> None:
    vault.run(StandardInput(b"Order: TW-7\nItem: Cloak\n"))
    vault.run(StandardInput(ORDER))
    vault.run(StandardInput(mailbox(mail("Order: A"), mail("Order: B"))))
    vault.run(StandardInput(SKIRT))
    assert vault.sources() == ["-", "-", "-#1", "-#2"]
    assert vault.objects() >= {digest(SKIRT), digest(ORDER)}
    assert vault.files()["-"].file.facts.title == "Bustle Skirt"


def test_standard_input_that_says_nothing_is_a_problem(vault: Vault) -> None:
    summary = vault.run(StandardInput(b"milk and eggs"))
    assert [p.source for p in summary.problems] == ["-"]
    assert "pinfold record" in summary.problems[0].next


# --- the vault around it -------------------------------------------------------------------------


def test_one_import_at_a_time(vault: Vault) -> None:
    vault.put({"a.pdf": SKIRT})
    with VaultLock(vault.folder), pytest.raises(StoreError) as caught:
        vault.run()
    assert caught.value.code == "locked"


def test_the_vault_inside_the_folder_is_not_imported(vault: Vault) -> None:
    vault.put({"a.pdf": SKIRT})
    vault.run(vault.root)
    vault.run(vault.root)
    assert vault.objects() == {digest(SKIRT)}


def test_better_readers_read_again_what_is_kept_even_when_its_source_is_gone(vault: Vault) -> None:
    vault.put(
        {
            "1.eml": ORDER,
            "skirt.pdf": SKIRT,
            "odd.pdf": pdf("nothing"),
            "z.zip": zipped({"A4.pdf": SOCKS, "a.png": PNG}),
        }
    )
    vault.run()
    before = vault.state()
    for path in vault.inbox.iterdir():
        path.unlink()
    vault.put({"empty-folder/.DS_Store": b""})
    vault.counted.jobs.clear()
    summary = vault.run(version="t2")
    assert sorted(vault.counted.jobs) == ["A4.pdf", "a.png", "odd.pdf", "skirt.pdf"]
    assert vault.state() == before
    assert (summary.documents, summary.files_new) == (0, 0)
    vault.counted.jobs.clear()
    vault.run(version="t2")
    assert vault.counted.jobs == []


def test_patterns_stand_on_the_shelf_under_readable_names(vault: Vault) -> None:
    vault.put({"1.eml": ORDER, "skirt.pdf": SKIRT, "bank.pdf": STATEMENT})
    vault.run()
    on_shelf = [p for p in vault.folder.shelf_path.rglob("*") if p.is_file()]
    assert [(p.name, p.parent.name) for p in on_shelf] == [("skirt.pdf", "Bustle Skirt")]
    assert on_shelf[0].read_bytes() == SKIRT


def test_progress_is_told(vault: Vault) -> None:
    vault.put({f"{n}.eml": mail(f"Order: {n}", number=n) for n in range(5)})
    said: list[tuple[int, int | None, str]] = []
    vault.run(progress=lambda done, total, words: said.append((done, total, words)))
    assert (4, 5, str(vault.inbox / "4.eml")) in said


def test_the_same_bytes_twice_are_one_file(vault: Vault) -> None:
    vault.put({"a.pdf": SKIRT, "a (1).pdf": SKIRT})
    summary = vault.run()
    assert summary.files_new == 1
    (view,) = vault.files().values()
    assert [Path(s.path).name for s in view.file.sightings] == ["a (1).pdf", "a.pdf"]
