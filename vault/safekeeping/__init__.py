"""What keeps the bytes: the vault folder, the content store, backups and everything that checks them.

| module | holds |
|---|---|
| `disk` | every step that changes a disk; errors of the system in plain words |
| `folder` | the layout of a vault, its settings |
| `objects` | the content store |
| `lock` | one writer at a time |
"""
