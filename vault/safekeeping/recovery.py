"""The recovery sheet: the key on paper, and the way back from what a person types.

The secret part of an age key is 58 characters of the Bech32 alphabet (BIP-173), which has no 1, b, i, o.  The sheet
shows them in lines of four groups of four, and behind each line one check character of the same alphabet:

    check = sum over the line's characters of  value * a^(1 + position)  +  a^0 * line number,  in GF(32)

with a a generator of the field.  Different positions have different weights, so one wrong character, or two that
changed places, always show, in the line where they are; the line number catches lines in the wrong order.  Bech32's
own checksum covers the whole.  A person may also type the key as any age tool knows it.
"""

from __future__ import annotations

import html
import re
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from vault.errors import BackupError, UsageError
from vault.safekeeping.keys import BackupKey, key_of_text, recipient_of

_ALPHABET = "qpzry9x8gf2tvdw0s3jn54khce6mua7l"
_PREFIXES = ("AGE-SECRET-KEY-1", "AGE-SECRET-KEY-PQ-1")
_SECRET_CHARS = 58
_GROUP, _LINE = 4, 16
_N_LINES = -(-_SECRET_CHARS // _LINE)
_MAX_TEXT = 1 << 16
# Characters the alphabet does not have, and what was meant: they look alike.
_LOOK_ALIKE = str.maketrans({"1": "l", "i": "l", "o": "0", "b": "8"})
_WHOLE_RE = re.compile(r"AGE-SECRET-KEY-(?:PQ-)?1[02-9AC-HJ-NP-Z]{58}(?![0-9A-Z])")
_NUMBER_RE = re.compile(r"\A\s{0,50}[1-9]\s?[.:)]")  # the number before a line
_MARKS = str.maketrans("", "", "-=/")  # what people put before the check character
_CODE_RE = re.compile(r"<code>([^<>]{1,60})</code>")


class RecoveryKeyError(BackupError):
    """The typed key is wrong; `line` is the line of the sheet (from 1), 0 where no single line is to blame."""

    code = "recovery-key"

    def __init__(self, message: str, next_step: str, *, line: int = 0) -> None:
        super().__init__(message, next_step)
        self.line = line


@dataclass(frozen=True, kw_only=True)
class RecoverySheet:
    """One page, as plain text, as a self-contained HTML page and as PDF.  All hold the secret."""

    text: str = field(repr=False)
    html: str = field(repr=False)
    pdf: bytes = field(repr=False)


def key_lines(identity: str) -> tuple[str, ...]:
    """The secret part of an age identity as the sheet prints it, such as `QPZR Y9X8 GF2T VDW0  S`."""
    secret = _secret_part(identity)
    lines = [secret[at : at + _LINE] for at in range(0, len(secret), _LINE)]
    return tuple(
        f"{_grouped(line)}  {check_character(line, number)}".upper() for number, line in enumerate(lines, start=1)
    )


def check_character(line: str, number: int) -> str:
    """The check character for one line (lower case, from the alphabet) in line `number`, from 1."""
    total, weight = number, 1
    for character in line:
        weight = _times(weight, 2)
        total ^= _times(_ALPHABET.index(character), weight)
    return _ALPHABET[total]


def parse_recovery_key(text: str) -> BackupKey:
    """The key in `text`: the sheet, its lines typed off, an age identity file, or the key alone.

    Raises RecoveryKeyError that names the line with the slip.
    """
    text = text[:_MAX_TEXT].removeprefix("\ufeff")
    whole = _WHOLE_RE.findall(text.upper())
    if whole:
        return _checked("\n".join(dict.fromkeys(whole)))
    lines = _typed_lines(text)
    if not lines:
        raise RecoveryKeyError(
            "there is no recovery key in the file",
            "type the lines of the recovery sheet into it, one below the other, each with its last character",
        )
    secret = "".join(_checked_line(line, number) for number, line in enumerate(lines, start=1))
    if len(lines) != _N_LINES:
        raise RecoveryKeyError(
            f"the recovery key has {len(lines)} lines, and it should have {_N_LINES}",
            "type all lines of the sheet, one below the other",
            line=len(lines) + 1,
        )
    for prefix in _PREFIXES:
        try:
            return key_of_text(prefix + secret.upper())
        except UsageError:
            continue
    raise RecoveryKeyError(
        "every line of the recovery key fits, and the whole does not",
        "compare it with the sheet character by character: two slips in one line may have cancelled out",
    )


def recovery_sheet(
    key: BackupKey, *, made_on: date, n_files: int, vault_name: str = "", destinations: tuple[str, ...] = ()
) -> RecoverySheet:
    """The page to print and to keep apart from the computer and the backups.  `n_files`: what the backup holds now."""
    identity = key.identities[0]
    facts = [
        ("Made on", made_on.isoformat()),
        ("Opens", f"the backups of this vault: {n_files} files on that day, and all that came later"),
        ("Vault", vault_name),
        ("Backups go to", "; ".join(destinations)),
        ("Public half", _shortened(recipient_of(identity))),
        ("Kind of key", _KINDS[_prefix(identity)]),
    ]
    facts = [(name, words) for name, words in facts if words]
    return RecoverySheet(
        text=_text_sheet(identity, facts), html=_html_sheet(identity, facts), pdf=_pdf_sheet(identity, facts)
    )


_KINDS = {
    "AGE-SECRET-KEY-1": "classic (X25519), which every age program opens",
    "AGE-SECRET-KEY-PQ-1": "post-quantum (MLKEM768-X25519), which only newer age programs open",
}
_TITLE = "Recovery sheet for a pinfold vault"
_WARNING = (
    "Whoever has this page and a backup can read everything in it. Keep it like a passport, away from the backups."
)
_STEPS = (
    "You need this page, one of the backups (a folder with the file READ-ME-FIRST.txt in it), and a computer with "
    "Python 3.11 or newer.",
    "Install pinfold: pip install pinfold",
    "Type the key above into a text file, for example key.txt: the lines as they stand, each with its last, single "
    "character. Capitals and blanks do not matter. Or read the square with a phone and save its text in the file.",
    "pinfold restore --from BACKUP-FOLDER --vault NEW-FOLDER --recovery-key key.txt. If you mistyped, it says in "
    "which line.",
    "Without pinfold: any program for the age format (age-encryption.org) opens the backup with the key; "
    "READ-ME-FIRST.txt says how. For such a program write the beginning given with it, then the lines without their "
    "last character and without blanks, all in one line and in capitals.",
    "Delete key.txt.",
)


def _text_sheet(identity: str, facts: list[tuple[str, str]]) -> str:
    import textwrap

    lines = [_TITLE.upper(), "", *textwrap.wrap(_WARNING, 72), ""]
    lines += [f"{name}: {words}" for name, words in facts]
    lines += ["", "THE KEY", "", f"It begins with {_prefix(identity)} (need not be typed).", ""]
    lines += [f"  {number}.  {line}" for number, line in enumerate(key_lines(identity), start=1)]
    lines += ["", "WHAT TO DO", ""]
    for number, step in enumerate(_STEPS, start=1):
        lines += textwrap.wrap(step, 72, initial_indent=f"{number}. ", subsequent_indent="   ", break_on_hyphens=False)
    return "\n".join(lines) + "\n"


def _html_sheet(identity: str, facts: list[tuple[str, str]]) -> str:
    rows = "".join(f"<tr><th>{html.escape(n)}</th><td>{html.escape(w)}</td></tr>" for n, w in facts)
    keys = "".join(f"<li><code>{html.escape(line)}</code></li>" for line in key_lines(identity))
    steps = "".join(f"<li>{html.escape(step)}</li>" for step in _STEPS)
    return f"""<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>{html.escape(_TITLE)}</title>
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<style>
@page {{ margin: 18mm }}
body {{ font: 11pt/1.4 sans-serif; color: #000; background: #fff; max-width: 174mm; margin: 0 auto; padding: 4mm }}
h1 {{ font-size: 17pt; margin: 0 0 3mm }} h2 {{ font-size: 12pt; margin: 5mm 0 1mm }}
th {{ text-align: left; vertical-align: top; padding-right: 5mm; white-space: nowrap }}
td {{ overflow-wrap: anywhere }}
.key {{ display: flex; gap: 8mm; align-items: center; flex-wrap: wrap }}
code {{ font: bold 14pt/1.7 monospace; white-space: pre }}
svg {{ width: 48mm; height: 48mm }}
.warn {{ border: 0.6mm solid #000; padding: 2mm 3mm }}
</style></head><body>
<h1>{html.escape(_TITLE)}</h1>
<p class="warn">{html.escape(_WARNING)}</p>
<table>{rows}</table>
<h2>The key</h2>
<p>It begins with <code>{html.escape(_prefix(identity))}</code> (need not be typed).</p>
<div class="key"><ol>{keys}</ol>{_qr_svg(identity)}</div>
<h2>What to do</h2>
<ol>{steps}</ol>
</body></html>
"""


def _pdf_sheet(identity: str, facts: list[tuple[str, str]]) -> bytes:
    from vault.safekeeping.sheet_pdf import sheet_page

    heading = f"It begins with {_prefix(identity)} (need not be typed)."
    return sheet_page(_TITLE, _WARNING, facts, heading, key_lines(identity), _STEPS, list(_square(identity).matrix))


def _qr_svg(identity: str) -> str:
    drawing: str = _square(identity).svg_inline(border=4, omitsize=True, dark="#000")
    return drawing


def _square(identity: str) -> Any:
    """The whole key as a QR code; all capitals, digits and dashes, so that it fits the small alphanumeric mode."""
    import segno

    return segno.make(identity, error="q", micro=False)


def _shortened(recipient: str) -> str:
    """Enough of a public half to tell keys apart: that of a post-quantum key would fill the page."""
    return recipient if len(recipient) <= 80 else f"{recipient[:24]}...{recipient[-12:]}"


def _prefix(identity: str) -> str:
    return next(prefix for prefix in reversed(_PREFIXES) if identity.startswith(prefix))


def _secret_part(identity: str) -> str:
    return identity.removeprefix(_prefix(identity)).lower()


def _grouped(line: str) -> str:
    return " ".join(line[at : at + _GROUP] for at in range(0, len(line), _GROUP))


def _checked(identities: str) -> BackupKey:
    try:
        return key_of_text(identities)
    except UsageError as error:
        raise RecoveryKeyError(
            f"the recovery key is mistyped: {error.message}",
            "compare it with the sheet; typed line by line, each with its last character, the line is named",
        ) from error


def _typed_lines(text: str) -> list[str]:
    """The lines of the key in a text, check character last, blanks gone, in small letters."""
    if "<html" in text[:1000].lower():
        text = "\n".join(_CODE_RE.findall(text))
    lines = [(line, typed) for line in text.splitlines() if (typed := _typed(line[:200]))]
    numbered = [typed for line, typed in lines if _NUMBER_RE.match(line)]
    found = numbered or [typed for _, typed in lines]
    if len(found) == 1 and len(found[0]) == _SECRET_CHARS + _N_LINES:
        found = [found[0][at : at + _LINE + 1] for at in range(0, len(found[0]), _LINE + 1)]
    return found


def _typed(line: str) -> str | None:
    """The characters of a line of the key; None for any other line of a sheet: prose has longer words, or more."""
    groups = _NUMBER_RE.sub("", line).split()
    characters = "".join(groups).lower().translate(_LOOK_ALIKE)
    if len(groups) > 1:
        characters = characters.translate(_MARKS)
    strange = sum(not (c.isascii() and c.isalnum()) for c in characters)
    fits = len(groups) == 1 or (len(characters) <= _LINE + _LINE // 2 and all(len(g) <= _GROUP + 1 for g in groups))
    return characters if fits and len(characters) >= 10 and strange <= 2 else None


def _checked_line(line: str, number: int) -> str:
    expected = min(_LINE, _SECRET_CHARS - (number - 1) * _LINE)
    step = "compare that line with the sheet, also its last, single character"
    if expected > 0 and len(line) != expected + 1:
        raise RecoveryKeyError(
            f"line {number} of the recovery key has {len(line)} characters, and it should have {expected + 1}",
            step,
            line=number,
        )
    secret, check = line[:-1], line[-1]
    if expected <= 0 or any(c not in _ALPHABET for c in line) or check_character(secret, number) != check:
        raise RecoveryKeyError(f"line {number} of the recovery key is mistyped", step, line=number)
    return secret


def _times(a: int, b: int) -> int:
    """Product in GF(32) with x^5 + x^2 + 1, in which 2 generates all 31 non-zero elements."""
    product = 0
    while b:
        if b & 1:
            product ^= a
        a <<= 1
        if a & 32:
            a ^= 0b100101
        b >>= 1
    return product
