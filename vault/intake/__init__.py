"""Import: the only way into the vault.

| module | holds |
|---|---|
| `ingest` | the stages, lined up; `ingest`, `rematch` |
| `walk` `gather` | paths to units of work: folders, mailboxes, mails, zips |
| `sniff` | what a file is, by its bytes |
| `zips` `names` `origin` | opening zips within bounds; harmless names; where a file was downloaded from |
| `readers` `reading` | the readers behind a contract; the stage that reads |
| `decide` | what is kept and why |
| `record` | bytes, then rows |
| `derive` | purchases from claims, links from items and files |
| `recording` | a purchase typed in by hand |
| `shelving` | readable names for what is kept |
| `watching` `only_watcher` | following folders: the loop; one at a time |
| `settling` `busy` | when a file is finished; who holds it open |
| `following` `mounts` | events of the system, or why there are none |
| `marks` | what mail programs write into their mailbox files |
| `feed` | mails that come from somewhere else than a path, behind a contract |
| `imap` `imap_feed` `imap_search` `imap_names` | a mail account, read only; `passwords` in the keyring |
| `mailboxes` | mail on this computer, found by its form |
"""
