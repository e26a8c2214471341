"""Mail accounts: against a real server on loopback (Dovecot), with 5,000 mails, broken connections and odd names."""

from __future__ import annotations

import os
import socket
import ssl
import subprocess
import sys
import threading
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from mail_server import DOVECOT, PASSWORD, USER, Cutting, MailServer, certificate, running
from stand_ins import mail, pdf, readers

from vault.catalogue import Catalogue
from vault.intake import imap
from vault.intake.imap import Account, MailTrouble, Opened, Server, _joined
from vault.intake.imap_feed import ImapFeed
from vault.intake.imap_names import decode_name, encode_name, folder_of, mail_place, quoted
from vault.intake.imap_search import Asking, likely, words_version
from vault.intake.ingest import ingest
from vault.intake.passwords import Keyring
from vault.intake.summary import IngestSummary
from vault.model.source import Source, SourceKind
from vault.safekeeping.folder import VaultFolder

DAY = date(2026, 3, 3)
pytestmark = pytest.mark.filterwarnings("ignore::ResourceWarning")
needs_server = pytest.mark.skipif(DOVECOT is None or os.name == "nt", reason="dovecot 2.3 is not installed here")

# --- names --------------------------------------------------------------------------------------

# RFC 3501, 5.1.3 (and RFC 2152) in its own examples, then what mail folders are called.
NAMES = [
    (b"~peter/mail/&U,BTFw-/&ZeVnLIqe-", "~peter/mail/台北/日本語"),
    (b"&Jjo-!", "☺!"),
    (b"&U,BTFw-&ZeVnLIqe-".replace(b"-&", b"-/&"), "台北/日本語"),
    (b"R&-D", "R&D"),
    (b"Entw&APw-rfe", "Entwürfe"),
    (b"INBOX", "INBOX"),
    (b"Sent &2D3eCg-", "Sent 😊".replace("😊", "\U0001f60a")),
]


@pytest.mark.parametrize(("raw", "name"), NAMES)
def test_modified_utf7_both_ways(raw: bytes, name: str) -> None:
    assert decode_name(raw) == name
    assert decode_name(encode_name(name)) == name
    assert encode_name(name).isascii()


@settings(max_examples=200, deadline=None)
@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=40), st.binary(max_size=40))
def test_any_name_comes_back_and_any_bytes_are_some_text(name: str, raw: bytes) -> None:
    assert decode_name(encode_name(name)) == name
    assert isinstance(decode_name(raw), str)


@pytest.mark.parametrize(
    ("answer", "raw", "name"),
    [
        (rb'(\HasNoChildren) "/" "INBOX"', b"INBOX", "INBOX"),
        (rb'(\HasNoChildren) "." INBOX.Shop', b"INBOX.Shop", "INBOX.Shop"),
        (rb'(\HasNoChildren) NIL "a \"b\" \\ c"', rb'a "b" \ c', 'a "b" \\ c'),
        ((rb'(\HasNoChildren) "/" {9}', b'od"d \\ na'), b'od"d \\ na', 'od"d \\ na'),
        (rb'() "\\" "x"', b"x", "x"),
    ],
)
def test_folders_in_every_form_that_a_server_lists_them(answer: object, raw: bytes, name: str) -> None:
    found = folder_of(answer)
    assert found is not None and (found.raw, found.name) == (raw, name)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.binary(max_size=60) | st.tuples(st.binary(max_size=60), st.binary(max_size=20)), max_size=8))
def test_any_answer_is_taken_apart_without_a_fault(parts: list[object]) -> None:
    for part in parts:
        folder_of(part)
    assert sum(raw is not None for _, raw in _joined(parts)) <= len(parts)


@pytest.mark.parametrize("answer", [b"", b"nonsense", b'(\\X "/" "a"', None, (b"(", None), b'() "/" ""', 7])
def test_what_is_no_folder_is_none(answer: object) -> None:
    assert folder_of(answer) is None


def test_places_are_unambiguous_and_readable() -> None:
    assert mail_place("nora@a.example", "mail.a.example", "Einkäufe/#1 & 50%", 17) == (
        "imap://nora%40a.example@mail.a.example/Einkäufe/%231%20%26%2050%25#17"
    )
    with pytest.raises(ValueError):
        quoted(b"a\r\nDELETE INBOX")


# --- answers ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "parts",
    [
        [(b"1 (UID 17 BODY[] {5}", b"Hello"), b")"],
        [(b"1 (BODY[] {5}", b"Hello"), b" UID 17)"],
        [(b"1 (FLAGS (\\Seen) BODY[] {5}", b"Hello"), b" UID 17 RFC822.SIZE 5)"],
        [b"2 (FLAGS (\\Seen))", (b"1 (UID 17 BODY[] {5}", b"Hello"), b")", b"3 (FLAGS ())"],
    ],
)
def test_a_mail_is_found_in_every_form_of_a_fetch_answer(parts: list[object]) -> None:
    found = [(meta, raw) for meta, raw in _joined(parts) if raw is not None]
    assert len(found) == 1 and b"UID 17" in found[0][0] and found[0][1] == b"Hello"


def test_the_words_of_the_searches_cover_the_phrases_that_receipts_are_known_by() -> None:
    """Most phrases of every language; a mail has several, so few receipts are lost."""
    import tomllib

    from vault.receipts.words import languages

    table = tomllib.loads(Path(imap.__file__).with_name("imap_words.toml").read_text(encoding="utf-8"))
    for code, language in languages().items():
        parts = [p.casefold() for key in ("subject", "body") for p in table[code][key]]
        signs = language.table["signs"]
        phrases = [
            p.casefold() for name in ("order", "purchase", "receipt", "invoice", "download") for p in signs[name]
        ]
        covered = sum(any(part in phrase for part in parts) for phrase in phrases)
        assert covered >= 0.8 * len(phrases), code
    commands = [a.criteria for literals in (True, False) for a in likely(literals=literals)]
    assert max(map(len, commands)) < 8192, "RFC 7162, 4"
    assert len(words_version()) == 12


# --- the server ---------------------------------------------------------------------------------

WORDS = "Thank you for your order"
ODD = ['Einkäufe & "mehr"/Größe 38', "back\\slash", "100%*", "日本語 注文", "&-", "Trash", "Junk"]


@pytest.fixture(scope="module")
def server() -> Iterator[MailServer]:
    if DOVECOT is None or os.name == "nt":
        pytest.skip("dovecot 2.3 is not installed here")
    with running() as made:
        talk = mail("See you on Thursday, bring the green velvet.", "Tea at five.", number=0)
        made.deliver(
            "INBOX",
            [
                mail(WORDS, f"Order: TW-{n}", f"Item: Costume {n}", number=n)
                if n % 25 == 7
                else talk.replace(b"Mail 0", b"Mail %d" % n)
                for n in range(5000)
            ],
        )
        for number, folder in enumerate(ODD):
            made.deliver(folder, [mail(WORDS, f"Order: ODD-{number}", "Item: Hat", number=9000 + number)])
        made.deliver("Orders", [mail(WORDS, f"Order: OR-{n}", "Item: Hat", number=6000 + n) for n in range(120)])
        yield made


def search(account: Account, opened: Opened, asking: Asking | None, after: int) -> set[int]:
    return set().union(*(found for _, (found,) in account.search(opened, [asking], after)))


class Reading:
    """One vault that reads one account."""

    def __init__(self, root: Path, server: MailServer, **changes: object) -> None:
        self.folder = VaultFolder(root / "vault")
        self.folder.create()
        source = Source(id=0, kind=SourceKind.IMAP, place="localhost", port=server.tls, user=USER)
        source = replace(source, certificate=str(server.certificate), **changes)  # type: ignore[arg-type]
        with Catalogue.open(self.folder.catalogue_path) as catalogue:
            added = catalogue.add_origin(source)
        assert added is not None
        self.source = added
        self.port = added.port or 0
        self.fetched = 0
        self.opened = 0
        self.pauses: list[float] = []

    def connect(self) -> Account:
        self.opened += 1
        server = Server(host="localhost", port=self.port, user=USER, certificate=self.source.certificate)
        return Account.open(server, PASSWORD, seconds=60)

    def run(self) -> IngestSummary:
        feed = ImapFeed(source=self.source, connect=self.connect, day=DAY, pause=self.pauses.append)
        try:
            summary = ingest(self.folder, [feed], day=DAY, readers=readers())
        finally:
            feed.end()
        self.fetched = len(feed._done)
        return summary

    def orders(self) -> list[str]:
        with Catalogue.open_read_only(self.folder.catalogue_path) as catalogue:
            return sorted(c.claim.order_number or "" for c in catalogue.claims())

    def sources(self) -> set[str]:
        with Catalogue.open_read_only(self.folder.catalogue_path) as catalogue:
            return {s for c in catalogue.claims() for s in catalogue.sources(c.evidence_sha256)}

    def read_on(self) -> date | None:
        with Catalogue.open_read_only(self.folder.catalogue_path) as catalogue:
            return catalogue.origins()[0].read_on


@needs_server
def test_of_five_thousand_mails_the_likely_ones_are_fetched_once(server: MailServer, tmp_path: Path) -> None:
    reading = Reading(tmp_path, server)
    before = server.flags()
    door = Cutting(server.tls, [100_000])  # and the connection breaks in the middle of it
    reading.port = door.port
    summary = reading.run()
    door.close()
    reading.port = server.tls
    assert (summary.problems, door.broken, reading.opened) == ((), 1, 2)
    # 200 receipts, 120 in a folder of their own, and one in each folder that is not for junk.
    assert (summary.purchases_new, reading.fetched) == (326, 326)
    assert server.flags() == before, "nothing is marked as read"
    assert "ODD-6" not in reading.orders(), "junk is not read"
    places = reading.sources()
    me = "imap://nora%40wardrobe.example@localhost"
    assert f"{me}/INBOX#8" in places
    assert f"{me}/Einkäufe%20%26%20%22mehr%22/Größe%2038#1" in places
    assert reading.read_on() == DAY

    assert reading.run().documents == 0
    assert reading.fetched == 0, "the second run fetches nothing"
    server.deliver("back\\slash", [mail(WORDS, "Order: NEW-1", number=9999), mail("Tea?", number=9998)])
    assert reading.run().purchases_new == 1
    assert reading.fetched == 1, "only what is new is searched"


@needs_server
def test_a_folder_whose_uids_mean_something_else_is_read_again_and_nothing_is_twice(
    server: MailServer, tmp_path: Path
) -> None:
    """RFC 3501, 2.3.1.1: another UIDVALIDITY."""
    server.deliver("Changing", [mail(WORDS, f"Order: CH-{n}", number=7000 + n) for n in range(3)])
    reading = Reading(tmp_path, server, folders=("Changing",))
    assert reading.run().purchases_new == 3
    (server.root / "mail" / "Changing" / "dovecot-uidlist").unlink()
    for index in (server.root / "mail" / "Changing").glob("dovecot.index*"):
        index.unlink()
    import time

    time.sleep(1.1)  # the validity is a time in seconds
    again = reading.run()
    assert reading.fetched == 3 and again.documents == 0
    assert reading.orders() == ["CH-0", "CH-1", "CH-2"]


@needs_server
def test_a_connection_that_breaks_is_opened_again_and_nothing_is_fetched_twice(
    server: MailServer, tmp_path: Path
) -> None:
    door = Cutting(server.tls, [9_000, 12_000, 26_000])
    reading = Reading(tmp_path, server, folders=("Orders",))
    reading.port = door.port
    summary = reading.run()
    door.close()
    assert door.broken == 3 and reading.opened == 4 and len(reading.pauses) == 3
    assert (summary.problems, summary.purchases_new, reading.fetched) == ((), 120, 120)


@needs_server
def test_a_connection_lost_for_good_is_said_and_the_next_run_goes_on(server: MailServer, tmp_path: Path) -> None:
    door = Cutting(server.tls, [30_000, 2_900, 100, 5_000, 4_000])
    reading = Reading(tmp_path, server, folders=("Orders",))
    reading.port = door.port
    first = reading.run()
    door.close()
    assert [p.source for p in first.problems] == ["imap://nora@wardrobe.example@localhost"]
    assert "broke off" in first.problems[0].reason or "reached" in first.problems[0].reason
    assert "goes on where it stopped" in first.problems[0].next or "--port" in first.problems[0].next
    had = reading.fetched
    assert 0 < had < 120 and len(reading.orders()) == had and reading.read_on() is None
    reading.port = server.tls
    second = reading.run()
    assert (reading.fetched, len(reading.orders())) == (120 - had, 120)
    with Catalogue.open_read_only(reading.folder.catalogue_path) as catalogue:
        assert (second.problems, catalogue.problems(), reading.read_on()) == ((), (), DAY)


@needs_server
def test_patterns_that_came_without_a_word_are_found_by_what_is_attached(server: MailServer, tmp_path: Path) -> None:
    skirt, picture = pdf("PATTERN", "Title: Skirt"), b"\x89PNG" * 10
    server.deliver("Friends", [mail("Hi, as promised!", number=1, attached={"a.pdf": skirt})])
    server.deliver("Friends", [mail("Look!", number=2, attached={}), mail("x" * 100, number=3)])
    reading = Reading(tmp_path, server, folders=("Friends",))
    assert reading.run().files_new == 1
    assert reading.fetched == 1
    del picture
    everything = Reading(tmp_path / "all", server, folders=("Friends",), everything=True)
    everything.run()
    assert everything.fetched == 3


@needs_server
def test_a_folder_that_is_not_there_costs_only_itself(server: MailServer, tmp_path: Path) -> None:
    reading = Reading(tmp_path, server, folders=("No such folder", "back\\slash"))
    summary = reading.run()
    assert [p.reason for p in summary.problems] == ["there is no folder of that name"]
    assert summary.purchases_new >= 1


@needs_server
def test_a_mail_over_the_limit_is_named_and_not_fetched(
    server: MailServer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from vault.intake import imap_feed

    server.deliver("Large", [mail(WORDS, "Order: L-1", "x" * 5000), mail(WORDS, "Order: L-2", number=2)])
    monkeypatch.setattr(imap_feed, "LARGEST_MAIL", 2000)
    reading = Reading(tmp_path, server, folders=("Large",))
    summary = reading.run()
    assert reading.orders() == ["L-2"]
    assert [p.reason for p in summary.problems] == ["the mail is too large to be fetched (0 MB)"]


@needs_server
def test_a_server_that_takes_no_literals_is_asked_otherwise(server: MailServer, tmp_path: Path) -> None:
    account = Reading(tmp_path, server).connect()
    folder = next(f for f in account.folders() if f.name == "日本語 注文")
    opened = account.open_folder(folder)
    server.deliver("日本語 注文", [mail("ご注文ありがとうございます", number=5)])
    opened = account.open_folder(folder)
    for literals in (True, False):
        found = [search(account, opened, asking, 0) for asking in likely(literals=literals)]
        assert {2} in found
    assert search(account, opened, Asking(criteria=b"ALL"), 2) == set(), '"3:*" holds the last mail (RFC 3501, 6.4.8)'
    account.close()


@needs_server
def test_windows_of_a_large_folder_join(server: MailServer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    account = Reading(tmp_path, server).connect()
    inbox = next(f for f in account.folders() if f.name == "INBOX")
    opened = account.open_folder(inbox)
    assert opened.mails == 5000
    monkeypatch.setattr(imap, "_WINDOW", 700)
    assert search(account, opened, None, 0) == set(range(1, 5001))
    assert search(account, opened, None, 4990) == set(range(4991, 5001))
    account.close()


# --- what can go wrong --------------------------------------------------------------------------


@needs_server
def test_a_wrong_password_is_one_clear_sentence(server: MailServer) -> None:
    there = Server(host="localhost", port=server.tls, user=USER, certificate=str(server.certificate))
    with pytest.raises(MailTrouble, match=f"did not take the password of {USER}") as caught:
        Account.open(there, "wrong")
    assert caught.value.code == "password" and "app password" in caught.value.next_step


@needs_server
def test_an_unknown_certificate_ends_it_before_the_password_is_sent(server: MailServer) -> None:
    with pytest.raises(MailTrouble, match="certificate of localhost cannot be trusted") as caught:
        Account.open(Server(host="localhost", port=server.tls, user=USER), PASSWORD)
    assert caught.value.code == "certificate" and "--certificate" in caught.value.next_step
    with pytest.raises(MailTrouble, match="cannot be read") as caught:
        Account.open(Server(host="localhost", port=1, user=USER, certificate="/nowhere.pem"), PASSWORD)
    assert caught.value.code == "certificate"


@needs_server
def test_starttls_or_nothing(server: MailServer, monkeypatch: pytest.MonkeyPatch) -> None:
    there = Server(host="localhost", port=server.plain, user=USER, certificate=str(server.certificate))
    with pytest.raises(MailTrouble, match="does not speak TLS on port") as caught:
        Account.open(there, PASSWORD)
    assert caught.value.code == "no-tls"
    monkeypatch.setattr(imap, "STARTTLS_PORT", server.plain)
    account = Account.open(there, PASSWORD)
    assert account.folders()
    account.close()


class Scripted:
    """A server of few words, for what an honest one never says.  Answers go by the command's second word."""

    def __init__(self, greeting: bytes, answers: dict[bytes, bytes], tls: Path | None = None) -> None:
        self._greeting, self._answers = greeting, answers
        self._context: ssl.SSLContext | None = None
        if tls is not None:
            self._context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
            self._context.load_cert_chain(tls / "cert.pem", tls / "key.pem")
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port = int(self._listener.getsockname()[1])
        self.heard: list[bytes] = []
        threading.Thread(target=self._serve, daemon=True).start()

    def _serve(self) -> None:
        try:
            near, _ = self._listener.accept()
            if self._context is not None:
                near = self._context.wrap_socket(near, server_side=True)
            near.sendall(self._greeting)
            stream = near.makefile("rb")
            while line := stream.readline():
                self.heard.append(line)
                tag, _, rest = line.partition(b" ")
                word = rest.split()[0].upper() if rest.split() else b""
                answer = self._answers.get(word, b"%b BAD what?\r\n")
                near.sendall(answer.replace(b"%b", tag))
        except OSError:
            pass


def test_a_server_without_starttls_never_hears_the_password(monkeypatch: pytest.MonkeyPatch) -> None:
    fake = Scripted(
        b"* OK hello\r\n", {b"CAPABILITY": b"* CAPABILITY IMAP4rev1\r\n%b OK done\r\n", b"LOGOUT": b"%b OK done\r\n"}
    )
    monkeypatch.setattr(imap, "STARTTLS_PORT", fake.port)
    with pytest.raises(MailTrouble, match="offers no TLS on port") as caught:
        Account.open(Server(host="127.0.0.1", port=fake.port, user=USER), "secret")
    assert caught.value.code == "no-tls"
    assert b"secret" not in b"".join(fake.heard) and not any(b"LOGIN" in h for h in fake.heard)


@pytest.mark.parametrize(
    ("answers", "code", "words"),
    [
        ({b"CAPABILITY": b"* CAPABILITY IMAP4rev1 LOGINDISABLED\r\n%b OK done\r\n"}, "refused", "takes no password"),
        ({b"LOGIN": b"%b NO [UNAVAILABLE] try later\r\n"}, "refused", "is busy"),
        ({b"LOGIN": b"%b NO \x1b[31mgo away\r\n"}, "password", "go away"),
        ({b"LOGIN": b"* BYE enough\r\n"}, "lost", "broke off"),
        ({b"LIST": b'* LIST (\\X) "/" {99999999999}\r\n'}, "lost", "broke off"),
        ({b"LIST": b"%b NO not today\r\n"}, "answer", "refused LIST: not today"),
        ({b"LIST": b"* " + b"x" * 2_000_000 + b"\r\n%b OK done\r\n"}, "answer", "LIST"),
    ],
    ids=["no-password", "busy", "says-no", "says-bye", "announces-too-much", "refuses", "endless-line"],
)
def test_a_strange_server_is_one_clear_sentence(
    tmp_path: Path, answers: dict[bytes, bytes], code: str, words: str
) -> None:
    path = certificate(tmp_path)
    usual = {
        b"CAPABILITY": b"* CAPABILITY IMAP4rev1\r\n%b OK done\r\n",
        b"LOGIN": b"%b OK done\r\n",
        b"LIST": b"%b OK done\r\n",
        b"LOGOUT": b"* BYE\r\n%b OK done\r\n",
    }
    fake = Scripted(b"* OK hello\r\n", {**usual, **answers}, tls=tmp_path)
    there = Server(host="localhost", port=fake.port, user=USER, certificate=str(path))
    with pytest.raises(MailTrouble, match=words) as caught:
        Account.open(there, "secret", seconds=5).folders()
    assert caught.value.code == code
    assert "\x1b" not in caught.value.message and len(caught.value.message) < 300


def test_a_server_that_sends_without_end_is_left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each answer is small, all together are more than any mail."""
    path = certificate(tmp_path)
    line = b'* LIST () "/" "box"\r\n'
    answers = {
        b"CAPABILITY": b"* CAPABILITY IMAP4rev1\r\n%b OK done\r\n",
        b"LOGIN": b"%b OK done\r\n",
        b"LIST": line * 5_000,
    }
    fake = Scripted(b"* OK hello\r\n", answers, tls=tmp_path)
    monkeypatch.setattr(imap, "LARGEST_MAIL", 0)
    monkeypatch.setattr(imap, "_AROUND", 10_000)
    account = Account.open(Server(host="localhost", port=fake.port, user=USER, certificate=str(path)), "x", seconds=5)
    with pytest.raises(MailTrouble, match="more than any mail is") as caught:
        account.folders()
    assert caught.value.code == "lost"


@pytest.mark.parametrize(
    ("host", "port", "words"),
    [
        ("127.0.0.1", 1, "cannot be reached"),
        ("no-such-host.invalid", 993, "there is no server called"),
        ("a..b", 993, "reached"),
    ],
)
def test_a_server_that_is_not_there(host: str, port: int, words: str) -> None:
    with pytest.raises(MailTrouble, match=words) as caught:
        Account.open(Server(host=host, port=port, user=USER), "x", seconds=5)
    assert caught.value.code == "unreachable" and caught.value.next_step


# --- passwords and the command ------------------------------------------------------------------

_RING = """
import json, os, pathlib
from keyring.backend import KeyringBackend
class Ring(KeyringBackend):
    priority = 1
    place = pathlib.Path(os.environ["TEST_RING"])
    def _all(self): return json.loads(self.place.read_text()) if self.place.exists() else {}
    def get_password(self, service, user): return self._all().get(service + "|" + user)
    def set_password(self, service, user, password):
        self.place.write_text(json.dumps({**self._all(), service + "|" + user: password}))
    def delete_password(self, service, user):
        self.place.write_text(json.dumps({k: v for k, v in self._all().items() if k != service + "|" + user}))
"""


class _Broken:
    def get_password(self, *_: str) -> str:
        raise RuntimeError("the keyring is locked")

    set_password = delete_password = get_password


def test_a_keyring_that_fails_is_as_if_there_were_none() -> None:
    source = Source(id=1, kind=SourceKind.IMAP, place="h.example", user="nora")
    broken = Keyring(backend=_Broken())
    assert (broken.password(source), broken.keep(source, "x")) == (None, False)
    broken.forget(source)
    assert not Keyring().usable and Keyring().password(source) is None


@needs_server
def test_the_command_remembers_reads_and_forgets_an_account(server: MailServer, tmp_path: Path) -> None:
    pytest.importorskip("keyring")
    import json

    vault, ring = tmp_path / "vault", tmp_path / "ring.json"
    (tmp_path / "testring.py").write_text(_RING)
    ring.write_text(json.dumps({f"pinfold mail localhost|{USER}": PASSWORD}))
    env = {**os.environ, "TEST_RING": str(ring), "PYTHON_KEYRING_BACKEND": "testring.Ring", "COLUMNS": "200"}
    env["PYTHONPATH"] = os.pathsep.join([str(tmp_path), env.get("PYTHONPATH", "")])

    def call(*words: str) -> subprocess.CompletedProcess[str]:
        call = [sys.executable, "-m", "vault.cli.main", "--vault", str(vault), *words]
        said = subprocess.run(call, capture_output=True, text=True, env=env, stdin=subprocess.DEVNULL, timeout=150)
        assert "Traceback" not in said.stderr and PASSWORD not in said.stdout + said.stderr
        return said

    where = ("--host", "localhost", "--user", USER, "--port", str(server.tls), "--folder", "Trash")
    refused = call("source", "add", "imap", *where)
    assert refused.returncode == 3 and "cannot be trusted" in refused.stderr
    added = call("source", "add", "imap", *where, "--certificate", str(server.certificate))
    assert added.returncode == 0, added.stderr
    assert "remembered: imap://nora@wardrobe.example@localhost" in added.stdout
    read = call("import", "--sources", "--json")
    imported = json.loads(read.stdout)
    assert imported["imported"]["documents"] == 1, read.stderr
    assert [p["source"] for p in imported["problems"] if "#" not in p["source"]] == []
    ring.write_text(json.dumps({f"pinfold mail localhost|{USER}": "wrong"}))
    wrong = call("import", "--json")
    assert wrong.returncode == 1
    assert any("did not take the password" in p["reason"] for p in json.loads(wrong.stdout)["problems"])
    for path in vault.rglob("*"):
        assert not path.is_file() or PASSWORD.encode() not in path.read_bytes(), "the password is not in the vault"
    assert call("source", "remove", "1").returncode == 0
    assert json.loads(ring.read_text()) == {}
    assert "Nothing is remembered" in call("source", "list").stdout
    unknown = call("source", "add", "imap", *where, "--certificate", str(server.certificate))
    assert unknown.returncode == 2 and "nobody can be asked here" in " ".join(unknown.stderr.split())
