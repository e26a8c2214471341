"""READ-ME-FIRST.txt of a backup: for a person who has nothing but the backup and the passphrase or recovery sheet.

The commands between the lines of dots are run, letter by letter, by tests/safekeeping/test_by_hand.py.
"""

from __future__ import annotations

from vault.safekeeping.layout import KEY, LIST, OBJECTS, SNAPSHOTS

_SEALED = f"""\
This folder is a backup of a vault: pattern files somebody bought, the receipts that
prove it, and the catalogue that says what belongs together.  Everything in it that
matters is encrypted.  Without the passphrase or the recovery sheet nobody can read it.


WITH THE PROGRAM

  Install pinfold (Python 3.11 or newer:  pip install pinfold), then

    pinfold restore --from THIS-FOLDER --vault NEW-FOLDER

  It asks for the passphrase.  With the recovery sheet instead: type the key from the
  sheet into a text file and add  --recovery-key FILE


BY HAND, WITHOUT THE PROGRAM

  The files ending in .age are in the open format "age" (age-encryption.org); any
  program that reads it will do.  What lies here:

    {KEY}          the key to everything else, locked with the passphrase
    {SNAPSHOTS}*.age  one for each backup, named by its time (UTC): the catalogue and a list
    {OBJECTS}*/*.age the files themselves, each under a meaningless name; the list says
                     which is which

  With the command "age" and a Unix shell, in a copy of this folder:

  1. Unlock the key; it asks for the passphrase.  (With the recovery sheet: write the
     key, AGE-SECRET-KEY-1..., into the file key.txt yourself.)  If the key begins with
     AGE-SECRET-KEY-PQ-1, "age" must be version 1.3 or newer.
.........................................................................
age -d -o key.txt {KEY}
.........................................................................

  2. Open the newest snapshot.  It holds {LIST} (the list), catalogue.sqlite (an SQLite
     database with everything that was known) and about.json.
.........................................................................
age -d -i key.txt "$(ls snapshots/*.age | tail -n 1)" | tar -xzf -
.........................................................................

  3. Every line of {LIST} is one file: the SHA-256 of its content, where it lies
     here, its length, the length as stored, and its name.  This unlocks them all:
.........................................................................
grep -v '^#' {LIST} | while IFS="$(printf '\\t')" read -r sha stored size kept name; do
  out="unlocked/${{name:-without-a-name/$sha}}"
  mkdir -p "$(dirname "$out")"
  age -d -i key.txt "$stored" </dev/null >"$out"
done
.........................................................................

  4. To be sure that a file is what was kept:  sha256sum FILE  gives the first column.
     Without any key you can check that nothing here has rotted: the name of each file
     in {OBJECTS} is the SHA-256 of the file itself.

  Delete key.txt afterwards.
"""

_PLAIN = f"""\
This folder is a backup of a vault: pattern files somebody bought, the receipts that
prove it, and the catalogue that says what belongs together.  It is NOT encrypted:
whoever holds it can read it.


WITH THE PROGRAM

  Install pinfold (Python 3.11 or newer:  pip install pinfold), then

    pinfold restore --from THIS-FOLDER --vault NEW-FOLDER


BY HAND, WITHOUT THE PROGRAM

    {SNAPSHOTS}*.tar.gz  one for each backup, named by its time (UTC): catalogue and list
    {OBJECTS}*/*        the files themselves, each under the SHA-256 of its content

  With a Unix shell, in a copy of this folder:

  1. Open the newest snapshot.  It holds {LIST} (the list), catalogue.sqlite (an SQLite
     database with everything that was known) and about.json.
.........................................................................
tar -xzf "$(ls snapshots/*.tar.gz | tail -n 1)"
.........................................................................

  2. Every line of {LIST} is one file: the SHA-256 of its content, where it lies
     here, its length, the length as stored, and its name.  This gives them their names:
.........................................................................
grep -v '^#' {LIST} | while IFS="$(printf '\\t')" read -r sha stored size kept name; do
  out="unpacked/${{name:-without-a-name/$sha}}"
  mkdir -p "$(dirname "$out")"
  cp "$stored" "$out"
done
.........................................................................

  3. To be sure that a file is what was kept:  sha256sum FILE  gives the first column.
"""


def readme_text(*, sealed: bool) -> bytes:
    """The text for an encrypted or a plain backup; always the same, so that it tells nothing of the vault."""
    return (_SEALED if sealed else _PLAIN).encode()
