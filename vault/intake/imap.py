"""A mail account on a server, read only: IMAP4rev1 (RFC 3501) over TLS, through the standard library.

What is sent: LOGIN or AUTHENTICATE, LIST, EXAMINE, UID SEARCH, UID FETCH with BODY.PEEK, LOGOUT.  EXAMINE opens a
folder for reading only, PEEK leaves mails unread: nothing there is marked, moved or deleted.  The password is sent only
inside TLS with a checked certificate.  Answers are bounded.  Every trouble leaves as a MailTrouble in plain words.
"""

from __future__ import annotations

import contextlib
import imaplib
import re
import socket
import ssl
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from vault.errors import VaultError
from vault.intake.imap_names import MailFolder, folder_of, quoted
from vault.intake.imap_search import Asking

TLS_PORT = 993
STARTTLS_PORT = 143
LARGEST_MAIL = 64 << 20
_AROUND = 8 << 20  # bytes of an answer beside a mail
_SECONDS = 60.0
# Messages asked for in one search.  A server without an index reads each of them through, and that must end before the
# connection counts as dead.
_WINDOW = 2_000
_UIDS_AT_ONCE = 500
_FETCH_MAILS, _FETCH_BYTES = 50, 4 << 20
_UID_RE = re.compile(rb"\bUID (\d{1,10})\b")
_SIZE_RE = re.compile(rb"\bRFC822\.SIZE (\d{1,12})\b")
_CARRIES_RE = re.compile(
    rb'"(?:pdf|x-pdf|zip|x-zip|x-zip-compressed|octet-stream|force-download|rfc822)"|\.(?:pdf|zip)"', re.IGNORECASE
)


class MailTrouble(VaultError):
    """A mail server cannot be read.

    Codes: unreachable, no-tls, certificate, password, refused, lost (the connection broke), answer (it makes no sense).
    """

    code = "mail"


@dataclass(frozen=True, kw_only=True)
class Server:
    """Where an account is.  `certificate` is a file with the server's own certificate, if no authority signed it."""

    host: str
    port: int
    user: str
    certificate: str | None = None


@dataclass(frozen=True, kw_only=True)
class Opened:
    """What a folder said when it was opened: validity of its UIDs, the next UID, how many mails it holds."""

    uid_validity: int
    uid_next: int
    mails: int


class _Bounded:
    """Mixed into imaplib's classes: no answer makes us take in more than the largest mail, whatever it announces."""

    taken = 0  # bytes since the last command

    def read(self, size: int) -> bytes:
        self._take(size)
        return super().read(size)  # type: ignore[misc,no-any-return]

    def readline(self) -> bytes:
        line: bytes = super().readline()  # type: ignore[misc]
        self._take(len(line))
        return line

    def _take(self, size: int) -> None:
        self.taken += size
        if self.taken > LARGEST_MAIL + _AROUND:
            raise imaplib.IMAP4.abort("the server sends more than any mail is")


class _Tls(_Bounded, imaplib.IMAP4_SSL):
    pass


class _Plain(_Bounded, imaplib.IMAP4):
    pass


class Account:
    """An open connection, logged in."""

    def __init__(self, connection: imaplib.IMAP4, server: Server, password: str = "") -> None:
        self._connection = connection
        self._server = server
        self.password = password  # of this run alone: to log in again, should the connection break
        self.literals = bool({"LITERAL+", "LITERAL-"} & set(connection.capabilities))

    @classmethod
    def open(cls, server: Server, password: str, *, seconds: float = _SECONDS) -> Account:
        """Connects and logs in.  Raises MailTrouble."""
        connection = _connected(server, seconds)
        try:
            _log_in(connection, server, password)
        except BaseException:
            with contextlib.suppress(OSError, imaplib.IMAP4.error):
                connection.shutdown()
            raise
        return cls(connection, server, password)

    def close(self) -> None:
        """Says goodbye, if the server still listens."""
        with contextlib.suppress(OSError, imaplib.IMAP4.error, ValueError):
            self._connection.logout()
        with contextlib.suppress(OSError):
            self._connection.shutdown()

    def folders(self) -> list[MailFolder]:
        """Every folder that holds mails, in the server's order."""
        # RFC 6154 and 5258: some servers tell only when asked which folder is for what.
        able = {"SPECIAL-USE", "LIST-EXTENDED"} <= set(self._connection.capabilities)
        asked = (b"RETURN (SPECIAL-USE)",) if able else ()
        answers = self._ask("LIST", b'""', b'"*"', *asked, untagged="LIST")
        found = [f for f in map(folder_of, answers) if f is not None]
        return [f for f in found if not f.flags & {"\\noselect", "\\nonexistent"}]

    def open_folder(self, folder: MailFolder) -> Opened:
        """Opens a folder for reading only."""
        try:
            name = quoted(folder.raw)
        except ValueError:
            raise self._trouble("answer", f"a folder of {self._server.host} has a name that cannot be sent") from None
        self._connection.untagged_responses.clear()
        said = self._ask("EXAMINE", name, untagged="EXISTS")
        # What imaplib keeps track of by its own `select`, which knows no quoting.
        self._connection.state, self._connection.is_readonly = "SELECTED", True
        return Opened(
            uid_validity=self._number("UIDVALIDITY", 0),
            uid_next=self._number("UIDNEXT", 0),
            mails=int(said[-1]) if said and isinstance(said[-1], bytes) and said[-1].isdigit() else 0,
        )

    def search(
        self, opened: Opened, askings: Sequence[Asking | None], after: int
    ) -> Iterator[tuple[int, list[set[int]]]]:
        """Searches the open folder some thousand mails at a time.

        Gives for each step how many mails are still to come, and for each of `askings` (None: every mail) the UIDs
        above `after` that answer to it.
        """
        # From the end: a mail that vanishes meanwhile moves others only into windows that are still to come; and what
        # is new is at the end, so the first windows without a UID above `after` are the last to be asked.
        for low in range(((max(opened.mails, 1) - 1) // _WINDOW) * _WINDOW + 1, 0, -_WINDOW):
            high = "*" if low + _WINDOW > opened.mails else str(low + _WINDOW - 1)
            window = f"{low}:{high}".encode()
            if after and not self._searched(window, None, after):
                return
            yield low - 1, [self._searched(window, asking, after) for asking in askings]

    def _searched(self, window: bytes, asking: Asking | None, after: int) -> set[int]:
        charset = b"CHARSET UTF-8" if asking is not None and asking.utf8 else b""
        criteria = asking.criteria if asking is not None else b""
        words = b" ".join(filter(None, (charset, window, f"UID {after + 1}:*".encode(), criteria)))
        if asking is not None and asking.literal is not None:
            self._connection.literal = asking.literal  # type: ignore[assignment]
        answers = self._ask("UID", b"SEARCH", words, untagged="SEARCH")
        told = (int(w) for line in answers if isinstance(line, bytes) for w in line.split() if w.isdigit())
        # "n:*" holds the last mail even where its UID is lower (RFC 3501, 6.4.8).
        return {uid for uid in told if uid > after}

    def sizes(self, uids: Sequence[int]) -> dict[int, int]:
        """The size in bytes that the server tells of each mail."""
        out: dict[int, int] = {}
        for _, meta, _ in self._fetch(uids, b"(UID RFC822.SIZE)"):
            uid, size = _UID_RE.search(meta), _SIZE_RE.search(meta)
            if uid and size:
                out[int(uid[1])] = int(size[1])
        return out

    def carrying_files(self, uids: Sequence[int]) -> set[int]:
        """Those of `uids` that have a PDF, a zip or a mail attached, by the structure that the server tells."""
        return {uid for uid, meta, _ in self._fetch(uids, b"(UID BODYSTRUCTURE)") if uid and _CARRIES_RE.search(meta)}

    def mails(self, sizes: dict[int, int]) -> Iterator[tuple[int, bytes]]:
        """Each of the mails in `sizes` (UID -> bytes), whole, some at a time; nothing is marked as read."""
        some: list[int] = []
        n_bytes = 0
        for uid in sorted(sizes):
            if some and (len(some) >= _FETCH_MAILS or n_bytes + sizes[uid] > _FETCH_BYTES):
                yield from self._whole(some)
                some, n_bytes = [], 0
            some.append(uid)
            n_bytes += sizes[uid]
        if some:
            yield from self._whole(some)

    def _whole(self, uids: Sequence[int]) -> Iterator[tuple[int, bytes]]:
        wanted = set(uids)
        for uid, _, raw in self._fetch(uids, b"(UID BODY.PEEK[])"):
            if uid in wanted and raw is not None:
                wanted.discard(uid)
                yield uid, raw

    def _fetch(self, uids: Sequence[int], items: bytes) -> Iterator[tuple[int, bytes, bytes | None]]:
        """(UID, what the answer says around it, the literal) of each answer."""
        for start in range(0, len(uids), _UIDS_AT_ONCE):
            chosen = ",".join(map(str, uids[start : start + _UIDS_AT_ONCE])).encode()
            answers = self._ask("UID", b"FETCH", chosen, items, untagged="FETCH")
            for meta, raw in _joined(answers):
                found = _UID_RE.search(meta)
                yield int(found[1]) if found else 0, meta, raw

    # --- talking --------------------------------------------------------------------------------

    def _ask(self, command: str, *words: bytes, untagged: str) -> list[Any]:
        """Sends a command and gives the parts of the answer named `untagged`.  Raises MailTrouble."""
        host = self._server.host
        self._connection.taken = 0  # type: ignore[attr-defined]
        try:
            status, said = self._sent(command, *words)
            _, answers = self._connection._untagged_response(status, said, untagged)
        except imaplib.IMAP4.abort as error:
            raise self._trouble("lost", f"the connection to {host} broke off ({_short(error)})") from error
        except imaplib.IMAP4.error as error:
            raise self._trouble("answer", f"{host} did not understand {command} ({_short(error)})") from error
        except (OSError, ValueError, EOFError) as error:
            raise self._trouble("lost", f"the connection to {host} broke off ({_short(error)})") from error
        if status != "OK":
            raise self._trouble("answer", f"{host} refused {command}: {_short(said[0] if said else '')}")
        return [a for a in answers if a is not None]

    def _sent(self, command: str, *words: bytes) -> tuple[str, list[Any]]:
        """Sends a command and waits for its end.  One with literals goes past imaplib, which knows one at most."""
        connection: Any = self._connection
        answer: tuple[str, list[Any]]
        if not any(b"+}\r\n" in w for w in words):
            answer = connection._simple_command(command, *words)
            return answer
        connection.untagged_responses.clear()
        tag = connection._new_tag()
        connection.tagged_commands[tag] = None
        connection.send(b" ".join((tag, command.encode(), *words)) + b"\r\n")
        answer = connection._command_complete(command, tag)
        return answer

    def _number(self, name: str, default: int) -> int:
        _, values = self._connection.response(name)
        value = values[-1] if values else None
        return int(value) if isinstance(value, bytes) and value.isdigit() else default

    def _trouble(self, code: str, message: str) -> MailTrouble:
        step = "run the same command again: it goes on where it stopped"
        return MailTrouble(
            message, step if code == "lost" else "see whether another mail program can read it", code=code
        )


def _joined(answers: Sequence[Any]) -> Iterator[tuple[bytes, bytes | None]]:
    """FETCH answers put together: imaplib gives (words, literal) for each literal and the words behind it apart."""
    meta, raw = b"", None
    for part in answers:
        if isinstance(part, tuple):
            if meta and not _is_open(meta):
                yield meta, raw
                meta, raw = b"", None
            meta += part[0]
            raw = part[1] if raw is None and b"BODY[]" in meta.upper() else raw
            if raw is not part[1]:
                meta += b' "' + part[1][:2000] + b'" '
        else:
            meta += part
            yield meta, raw
            meta, raw = b"", None
    if meta:
        yield meta, raw


def _is_open(meta: bytes) -> bool:
    return not meta.rstrip().endswith(b")")


# --- beginning ----------------------------------------------------------------------------------


def _connected(server: Server, seconds: float) -> imaplib.IMAP4:
    """A connection inside TLS."""
    host, port = server.host, server.port
    try:
        context = ssl.create_default_context()
        if server.certificate:
            context.load_verify_locations(cafile=server.certificate)
    except (OSError, ssl.SSLError) as error:
        raise MailTrouble(
            f"the certificate in {server.certificate} cannot be read: {_short(error)}",
            "name a file in PEM form with --certificate",
            code="certificate",
        ) from error
    try:
        if port != STARTTLS_PORT:
            return _Tls(host, port, ssl_context=context, timeout=seconds)
        plain = _Plain(host, port, timeout=seconds)
        try:
            plain.starttls(context)
        except BaseException:
            with contextlib.suppress(OSError, imaplib.IMAP4.error):
                plain.shutdown()
            raise
        return plain
    except ssl.SSLCertVerificationError as error:
        raise MailTrouble(
            f"the certificate of {host} cannot be trusted: {error.verify_message}",
            "check the server's name; if it is a server of your own, name its certificate with --certificate FILE."
            " No password was sent",
            code="certificate",
        ) from error
    except (ssl.SSLEOFError, ssl.SSLZeroReturnError) as error:
        raise MailTrouble(f"{host} broke off on port {port} before TLS began", _PORTS, code="unreachable") from error
    except ssl.SSLError as error:
        raise MailTrouble(f"{host} does not speak TLS on port {port}", _PORTS, code="no-tls") from error
    except imaplib.IMAP4.error as error:
        if isinstance(error, imaplib.IMAP4.abort) and "TLS not supported" not in str(error):
            raise MailTrouble(f"{host} broke off at once ({_short(error)})", _PORTS, code="unreachable") from error
        raise MailTrouble(f"{host} offers no TLS on port {port} ({_short(error)})", _PORTS, code="no-tls") from error
    except socket.gaierror as error:
        raise MailTrouble(
            f"there is no server called {host}",
            "check the name (it stands in the help pages of your mail service) and that you are online",
            code="unreachable",
        ) from error
    except (OSError, UnicodeError, ValueError) as error:
        raise MailTrouble(
            f"{host} cannot be reached on port {port}: {_short(error)}", _PORTS, code="unreachable"
        ) from error


_PORTS = f"mail is read inside TLS only, on port {TLS_PORT} or with STARTTLS on {STARTTLS_PORT}: see --port"
_APP_PASSWORD = (
    "check user and password; many mail services want a password made for this purpose (an app password) in the"
    " settings of your account"
)


def _log_in(connection: imaplib.IMAP4, server: Server, password: str) -> None:
    offered = {c.upper() for c in connection.capabilities}
    secret = password.encode()
    try:
        if "AUTH=PLAIN" in offered:
            # RFC 4616: UTF-8, so that a password may hold any letter
            connection.authenticate("PLAIN", lambda _: b"\0" + server.user.encode() + b"\0" + secret)
        elif "LOGINDISABLED" not in offered:
            status, said = connection._simple_command("LOGIN", quoted(server.user.encode()), quoted(secret))
            if status != "OK":
                raise imaplib.IMAP4.error(_short(said[-1] if said else "refused"))
            connection.state = "AUTH"
        else:
            raise MailTrouble(
                f"{server.host} takes no password",
                "look for an app password in the settings of your account, or save the mails as a file and import that",
                code="refused",
            )
        connection._get_capabilities()
    except imaplib.IMAP4.abort as error:
        raise MailTrouble(f"{server.host} broke off ({_short(error)})", "try again in a while", code="lost") from error
    except imaplib.IMAP4.error as error:
        if "UNAVAILABLE" in str(error).upper() or "INUSE" in str(error).upper():
            raise MailTrouble(
                f"{server.host} is busy: {_short(error)}", "try again in a while", code="refused"
            ) from error
        raise MailTrouble(
            f"{server.host} did not take the password of {server.user} ({_short(error)})",
            _APP_PASSWORD,
            code="password",
        ) from error
    except (OSError, EOFError) as error:
        raise MailTrouble(f"{server.host} broke off ({_short(error)})", "try again in a while", code="lost") from error
    except ValueError as error:
        raise MailTrouble("a password holds no line breaks", _APP_PASSWORD, code="password") from error


def _short(words: object) -> str:
    """What a server or the system said, on one short line."""
    said = words.decode("utf-8", "replace") if isinstance(words, bytes) else str(words)
    if said.startswith("b'") and said.endswith("'"):  # as imaplib prints bytes
        said = said[2:-1]
    return " ".join("".join(c if c.isprintable() else " " for c in said).split())[:160].rstrip(".")
