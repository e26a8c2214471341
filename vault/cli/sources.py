"""Where receipts and files come from: source add, list, remove, find; and the reading of them all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from vault.cli import screen
from vault.cli.session import Session, style
from vault.errors import UsageError, VaultError

if TYPE_CHECKING:
    from vault.intake.imap import Account
    from vault.intake.imap_feed import ImapFeed
    from vault.intake.ingest import Input
    from vault.intake.mailboxes import FoundMail
    from vault.model.source import Source

JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON (docs/json.md).")]
_TRIES = 3

source_app = typer.Typer(
    name="source",
    help="What to read again and again: folders, mail folders, mail accounts.\n\nExample: pinfold source add ~/Mail",
    rich_markup_mode=None,
)


@source_app.command("add")
def add(
    ctx: typer.Context,
    what: Annotated[str, typer.Argument(metavar="PATH|imap", help="A file or folder; or imap: a mail account.")],
    host: Annotated[str | None, typer.Option("--host", help="The mail server's name.")] = None,
    user: Annotated[str | None, typer.Option("--user", help="The name to log in with, mostly the address.")] = None,
    port: Annotated[int, typer.Option("--port", help="993, or 143 for STARTTLS.")] = 993,
    folder: Annotated[
        list[str] | None, typer.Option("--folder", metavar="NAME", help="Only this mail folder; may be repeated.")
    ] = None,
    everything: Annotated[
        bool, typer.Option("--everything", help="Fetch all mails, not only those that the server finds likely.")
    ] = False,
    certificate: Annotated[
        Path | None, typer.Option("--certificate", metavar="FILE", help="Of a server of your own, in PEM form.")
    ] = None,
    json: JsonOption = False,
) -> None:
    """Remember a folder or a mail account, to be read by `pinfold import --sources`.

    A mail account is read only: nothing there is marked, moved or deleted. Its password is kept in the system's keyring
    or asked for; it is never written into the vault.

    Example: pinfold source add imap --host mail.example.org --user nora@example.org
    """
    from vault.model.source import Source, SourceKind

    session: Session = ctx.obj
    if what == "imap":
        if not host or not user:
            raise UsageError(
                "a mail account needs a server and a user",
                "pinfold source add imap --host mail.example.org --user nora@example.org",
            )
        source = Source(
            id=0,
            kind=SourceKind.IMAP,
            place=host.strip(),
            port=_port(port),
            user=user.strip(),
            folders=tuple(folder or ()),
            everything=everything,
            certificate=str(Path.cwd() / certificate.expanduser()) if certificate else None,
            added_on=session.day,
        )
        _opened(source).close()
    else:
        if host or user or folder or certificate:
            raise UsageError(
                "--host, --user, --folder and --certificate are for mail accounts", "write: source add imap"
            )
        source = _path_source(session, what)
    _remember(session, [source], json=json)


def _port(port: int) -> int:
    if not 1 <= port <= 65535:
        raise UsageError(f"not a port: {port}", "mail is read on port 993, or with STARTTLS on 143")
    return port


def _path_source(session: Session, text: str) -> Source:
    from vault.model.source import Source, SourceKind

    path = Path.cwd() / Path(text).expanduser()
    if not path.exists():
        raise UsageError(f"there is no such file or folder: {path}", "check the name")
    return Source(id=0, kind=SourceKind.FOLDER, place=str(path), added_on=session.day)


def _remember(session: Session, sources: Sequence[Source], *, json: bool) -> None:
    vault = session.folder()
    if not vault.exists():
        vault.create()
    added = []
    with _writing(session) as catalogue:
        for source in sources:
            one = catalogue.add_origin(source)
            added.append(one)
            if not json:
                words = "remembered" if one else "remembered already"
                screen.say([f"{words}: {source.words}"])
    if json:
        screen.say_json({"added": [_row(s) for s in added if s is not None]})
    elif not session.quiet:
        screen.tell("Read it now: pinfold import --sources")


@contextmanager
def _writing(session: Session) -> Iterator[Any]:
    """The catalogue for writing, also of a vault that is only being begun."""
    from vault.catalogue import Catalogue
    from vault.safekeeping.lock import VaultLock

    folder = session.folder()
    with VaultLock(folder, purpose="source"), Catalogue.open(folder.catalogue_path) as catalogue:
        yield catalogue


@source_app.command("list")
def list_(ctx: typer.Context, json: JsonOption = False) -> None:
    """What is remembered, and when it was last read.

    Example: pinfold source list
    """
    session: Session = ctx.obj
    found = remembered(session)
    if json:
        screen.say_json({"sources": [_row(s) for s in found]})
        return
    if not found:
        screen.say(["Nothing is remembered yet: pinfold source add FOLDER, or: pinfold source find"])
    for source in found:
        read = f"read to its end on {source.read_on}" if source.read_on else "not read to its end yet"
        if source.kind.value == "folder":
            read = "read with: pinfold import --sources" if source.read_on is None else f"last read on {source.read_on}"
        screen.say([f"{source.id:>3}  {source.words}", f"     {read}"])


def remembered(session: Session) -> tuple[Source, ...]:
    """Every source that is remembered; none where there is no vault."""
    if not session.folder().exists() or not session.folder().catalogue_path.is_file():
        return ()
    with session.reading() as catalogue:
        return catalogue.origins()


@source_app.command("remove")
def remove(
    ctx: typer.Context, number: Annotated[int, typer.Argument(metavar="NUMBER", help="As `source list` shows it.")]
) -> None:
    """Forget a source and the password that is kept for it. What came from it stays.

    Example: pinfold source remove 2
    """
    session: Session = ctx.obj
    source = next((s for s in remembered(session) if s.id == number), None)
    if source is None:
        raise UsageError(f"there is no source {number}", "see the numbers with: pinfold source list")
    with session.writing() as catalogue:
        catalogue.remove_origin(number)
    if source.user:
        from vault.intake.passwords import Keyring

        Keyring.here().forget(source)
    screen.say([f"forgotten: {source.words}"])


@source_app.command("find")
def find(
    ctx: typer.Context,
    everything: Annotated[bool, typer.Option("--add", help="Remember all that is found, without asking.")] = False,
    home: Annotated[Path | None, typer.Option("--below", metavar="DIR", help="Where to look; else your home.")] = None,
    json: JsonOption = False,
) -> None:
    """Look for mail on this computer: mailbox files and Maildir folders of whatever mail program.

    Nothing is read but names and the first bytes of likely files. On a terminal each is offered; else they are listed.

    Example: pinfold source find
    """
    from vault.intake.mailboxes import find_mail

    session: Session = ctx.obj
    progress = screen.Progress(quiet=session.quiet)
    findings = find_mail(home or Path.home(), own=session.folder().root, progress=progress)
    progress.finish()
    known = {s.place for s in remembered(session)}
    if json:
        rows = [
            {"path": str(f.path), "mailboxes": f.mailboxes, "bytes": f.n_bytes, "remembered": str(f.path) in known}
            for f in findings.found
        ]
        screen.say_json({"found": rows, "complete": findings.complete})
    else:
        screen.say(_found_line(f, known) for f in findings.found)
    if not findings.complete:
        screen.tell("Not everything was looked at; name a folder to look in: pinfold source find --below DIR")
    if not findings.found:
        screen.tell("No mail was found on this computer. An account on a server: pinfold source add imap --help")
        return
    new = [f for f in findings.found if str(f.path) not in known]
    chosen = new if everything else [f for f in new if _wants(f)]
    if chosen:
        _remember(session, [_path_source(session, str(f.path)) for f in chosen], json=False)
    elif new and not screen.interactive() and not json:
        screen.tell("Remember one with: pinfold source add PATH, or all with: pinfold source find --add")


def _found_line(found: FoundMail, known: set[str]) -> str:
    from vault.reports.text import plain

    count = f"{found.mailboxes} {'mailbox' if found.mailboxes == 1 else 'mailboxes'}"
    size = f", {found.n_bytes / 1e6:.0f} MB" if found.n_bytes >= 500_000 else ""
    note = " (remembered already)" if str(found.path) in known else ""
    return style().finish(f"mail folder {plain(str(found.path))}: {count}{size}{note}")


def _wants(found: FoundMail) -> bool:
    if not screen.interactive():
        return False
    return screen.ask(f"Read {found.path} from now on? [y/N] ").lower() in ("y", "yes")


def _row(source: Source) -> dict[str, Any]:
    return {
        "id": source.id,
        "kind": source.kind.value,
        "place": source.place,
        "port": source.port,
        "user": source.user,
        "folders": list(source.folders),
        "everything": source.everything,
        "added_on": source.added_on.isoformat() if source.added_on else None,
        "read_on": source.read_on.isoformat() if source.read_on else None,
    }


# --- reading ------------------------------------------------------------------------------------


@contextmanager
def inputs_of(session: Session, sources: Sequence[Source], *, may_ask: bool = True) -> Iterator[list[Input]]:
    """What to import for these sources.

    Accounts are logged in to before the vault is locked; one that cannot be read costs only itself.  Without `may_ask`
    a password that the keyring does not know is not asked for.
    """
    from vault.intake.imap_feed import Closed
    from vault.model.source import SourceKind

    feeds: list[ImapFeed] = []
    inputs: list[Input] = []
    try:
        for source in sources:
            if source.kind is SourceKind.FOLDER:
                inputs.append(Path(source.place))
                continue
            try:
                feed = _feed(session, source, may_ask=may_ask)
            except VaultError as error:
                inputs.append(Closed(source=source, error=error))
                continue
            feeds.append(feed)
            inputs.append(feed)
        yield inputs
    finally:
        for feed in feeds:
            feed.end()


def _feed(session: Session, source: Source, *, may_ask: bool) -> ImapFeed:
    from vault.intake.imap import Account
    from vault.intake.imap_feed import ImapFeed, server_of

    account = _opened(source, may_ask=may_ask)
    password = account.password
    feed = ImapFeed(source=source, connect=lambda: Account.open(server_of(source), password), day=session.day)
    feed.take(account)
    return feed


def _opened(source: Source, *, may_ask: bool = True) -> Account:
    """The account, logged in: with the kept password, else with one that is asked for.  Raises VaultError."""
    from vault.intake.imap import Account, MailTrouble
    from vault.intake.imap_feed import server_of
    from vault.intake.passwords import Keyring

    keyring = Keyring.here()
    kept = keyring.password(source)
    may_ask = may_ask and screen.interactive()
    for left in range(_TRIES - 1, -1, -1):
        password = kept if kept is not None else _asked(source, keyring, may_ask=may_ask)
        try:
            account = Account.open(server_of(source), password)
        except MailTrouble as error:
            if error.code != "password" or not may_ask or not left:
                raise
            screen.tell_error(error)
            kept = None
            continue
        if kept is None and keyring.usable and _wants_kept():
            keyring.keep(source, password)
        return account
    raise AssertionError


def _asked(source: Source, keyring: Any, *, may_ask: bool) -> str:
    if not may_ask:
        step = "run it once in a terminal, and let the keyring keep the password"
        if not keyring.usable:
            step = "run it in a terminal, or let a keyring keep the password: pip install 'pinfold[keyring]'"
        raise UsageError(f"the password of {source.words} is not known and nobody can be asked here", step)
    return screen.ask_secret(f"Password of {source.user} at {source.place}: ")


def _wants_kept() -> bool:
    return screen.ask("Keep it in this computer's keyring? [y/N] ").lower() in ("y", "yes")


def mark_read(session: Session, sources: Sequence[Source]) -> None:
    """Remembers of folders that they were read today; accounts say so by themselves when they came to their end."""
    folders = [s for s in sources if not s.user and s.read_on != session.day and Path(s.place).exists()]
    if folders:
        with session.writing() as catalogue:
            for source in folders:
                catalogue.origin_read(source.id, session.day)


def add_to(app: typer.Typer) -> None:
    """Puts the commands of this module into `app`."""
    app.add_typer(source_app, name="source")
