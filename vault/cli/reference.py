"""Writes docs/commands.md from the program itself.

python -m vault.cli.reference docs/commands.md           write it
python -m vault.cli.reference --check docs/commands.md   fail if it is stale
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any

import typer.main

from vault.cli import screen
from vault.cli.main import app

_HEAD = """# Commands

Made by `python -m vault.cli.reference docs/commands.md`; do not edit.

Global options (`--vault DIR`, `--as-of DATE`, `--quiet`) may stand before or after the command. Without `--vault`
the vault is the folder named in the environment variable `PINFOLD_VAULT`, else `Pinfold` in your documents folder.

## Exit statuses

| status | means |
|---|---|
| 0 | done, nothing waits |
| 1 | done, but something needs you (see the table) |
| 2 | wrong usage; nothing was done |
| 3 | could not be done |
| 130 | stopped with Ctrl-C; what was done so far is kept |

| command | 1 means |
|---|---|
"""

# Which commands end with 1, and when; a test holds that each command is either here or ends with 0.
NEEDS_YOU = {
    "import": "something could not be read; each is named with what to do",
    "watch": "with --once: something could not be read; with --at-login status: it does not begin with the login",
    "missing": "something that was bought is not held",
    "remind": "something is due now",
    "settle": "questions are left to answer",
    "licence": "with `log`: a limit of the terms is passed",
    "verify": "something kept is damaged or gone",
    "rehearse": "the backup would not bring everything back",
    "backup": "the backup is written, but something in the vault needs a look",
    "handover": "the bag is written, but something that is kept could not be put in",
    "status": "something is missing, damaged, or waits for an answer",
}


def _commands() -> dict[str, Any]:
    group: Any = typer.main.get_command(app)
    return dict(group.commands)


def text() -> str:
    """The whole page."""
    group: Any = typer.main.get_command(app)
    context = group.make_context("pinfold", ["--quiet"], resilient_parsing=True)
    out = [_HEAD]
    out += [f"| `{name}` | {words} |\n" for name, words in NEEDS_YOU.items() if name in group.commands]
    out.append("\n## pinfold\n\n```text\n" + _help(group, context) + "\n```\n")
    for name in sorted(group.commands):
        command = group.commands[name]
        inner = command.make_context(name, [], parent=context, resilient_parsing=True)
        out.append(f"\n## {name}\n\n```text\n{_help(command, inner)}\n```\n")
        for part, below in getattr(command, "commands", {}).items():
            words = _help(below, below.make_context(part, [], parent=inner, resilient_parsing=True))
            out.append(f"\n### {name} {part}\n\n```text\n{words}\n```\n")
    return "".join(out)


def _help(command: Any, context: Any) -> str:
    return "\n".join(line.rstrip() for line in command.get_help(context).strip().splitlines())


def main() -> int:
    """Writes or checks the page named on the command line."""
    os.environ["COLUMNS"] = "78"
    check = "--check" in sys.argv
    path = Path(next(a for a in sys.argv[1:] if not a.startswith("--")))
    made = text()
    if not check:
        path.write_text(made, encoding="utf-8", newline="\n")
        return 0
    if path.exists() and path.read_text(encoding="utf-8") == made:
        return 0
    screen.tell(f"{path} is stale: python -m vault.cli.reference {path}")
    return 1


if __name__ == "__main__":
    sys.exit(main())
