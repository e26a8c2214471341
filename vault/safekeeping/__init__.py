"""What keeps the bytes: the vault folder, the content store, backups and everything that checks them.

| module | holds |
|---|---|
| `disk` `streams` `parallel` | every step that changes a disk; streams that count and digest; several at a time |
| `folder` | the layout of a vault, its settings |
| `objects` | the content store |
| `lock` | one writer at a time |
| `names` `shelf` | file names legal everywhere; the kept files under readable names |
| `fixity` `repair` | are the bytes still what they were; bringing back what is not |
| `destination` | where backups go: a small contract, and the folder |
| `layout` `readme` | names and values of a backup; its READ-ME-FIRST.txt |
| `keys` `recovery` `passphrase` | the key, locked with a passphrase; the key on paper; how strong a passphrase is |
| `backup` `ownership` `packing` `state` | the writing side |
| `restore` `opening` `unpacking` | the reading side |
| `inspecting` `thinning` `lease` | a backup checked where it lies; fewer snapshots; one writer to a destination |
| `rehearse` | a fire drill that trusts neither |

The disk format is described in docs/formats/backup.md.
"""
