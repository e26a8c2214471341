"""The domain as frozen values.  Standard library only; validation and no other behaviour.

| module | holds |
|---|---|
| `money` | exact amounts, ISO 4217 minor units |
| `evidence` | what one document says: claims, notices, download links |
| `purchase` | purchases, items, sellers, joined from all evidence |
| `pdf` | one reading of a PDF as plain values |
| `pattern` | facts of a pattern file, where it was seen |
| `act`, `licence` | terms of use as they were seen, the ledger of uses, what the terms answer |
| `claim` | asking a seller for lost files |
| `match` | links, questions, item states, and the rows that are shown |
"""
