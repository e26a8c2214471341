"""What is due on a given day, from the rows.

| module | what |
|---|---|
| `rules` | one pure function for each rule |
| `due` | what is shown: put off, done, told once |
"""
