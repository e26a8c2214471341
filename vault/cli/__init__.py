"""The command line: thin.  Parse, call, show.  The only package that prints.

| module | holds |
|---|---|
| `main` | the entry point: global options, errors to words and exit status |
| `session` | which vault, which day, what kind of terminal |
| `screen` | standard output, standard error, progress, questions to the person |
| `bring` | import, record |
| `ask` | missing, purchases, files, sellers, find, show |
| `decide` | settle, seller |
| `rights` | licence show, may, log, add |
| `claiming` | claim |
| `overview` | status, and what `pinfold` alone says |
| `safe` | backup, restore |
| `upkeep` | a backup read through, its snapshots thinned, damage named |
| `proof` | verify, rehearse |
| `demo` | the whole main job on the bundled scenario |
"""
