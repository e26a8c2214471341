"""Asking a seller for files that were bought and are lost: the letter, the proof, the packet.

| module | does |
|---|---|
| `asking` | what is asked of whom, in which language |
| `phrases` | the sentences of a letter, one data file per language (`words/`) |
| `safe_text` | a stranger's words on one line of a letter |
| `letter` | a claim as a letter |
| `checker` | reads the finished letter again, apart from what wrote it |
| `redact` | leaves out of a receipt what is nobody else's business |
| `paper` | text as a PDF |
| `proof` | receipts as attachments |
| `packet` | letter, proof and a manifest of digests as a folder or zip |
| `hints` | where to read about consumer law; no legal advice |

Pure over query results and a given day, but for `packet`, which writes.
"""
