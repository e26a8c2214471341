"""Terms of use: what they say act by act, the ledger of uses, the answer to "may I?", and their form as ODRL.

| module | does |
|---|---|
| `wording` | reads what the pattern readers leave out: printing again, working for hire, the period of a limit |
| `clauses` | terms and wording of one source -> one clause for each act it speaks of |
| `may` | all sources of an item and the ledger -> the answer, with the words |
| `versions` | sources that say the same, side by side |
| `odrl` | the terms as an ODRL 2.2 policy (JSON-LD) |

Pure: values in, values out.  Nothing here is legal advice; every answer carries the words it rests on.
"""
